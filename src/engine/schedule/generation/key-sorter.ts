/** Lists of tasks sorted by whole-number keys, equal keys in the order given. */
export class KeySorter {
  private counts = new Int32Array(1024);
  private packed = new Float64Array(64);

  /** Writes `list` sorted by `key[task]` ≥ 0 to `out`, another array. */
  sort(list: Int32Array, key: Int32Array, out: Int32Array): void {
    const n = list.length;
    let most = 0;
    for (let k = 0; k < n; k++) if (key[list[k]!]! > most) most = key[list[k]!]!;
    if (most > 16 * n + 1024) {
      this.sortWide(list, key, out);
      return;
    }
    if (this.counts.length < most + 2) this.counts = new Int32Array(2 * most + 2);
    const { counts } = this;
    counts.fill(0, 0, most + 2);
    for (let k = 0; k < n; k++) {
      const at = key[list[k]!]! + 1;
      counts[at] = counts[at]! + 1;
    }
    for (let v = 0; v < most; v++) counts[v + 1] = counts[v + 1]! + counts[v]!;
    for (let k = 0; k < n; k++) {
      const i = list[k]!;
      const at = key[i]!;
      out[counts[at]!] = i;
      counts[at] = counts[at]! + 1;
    }
  }

  private sortWide(list: Int32Array, key: Int32Array, out: Int32Array): void {
    const n = list.length;
    if (this.packed.length !== n) this.packed = new Float64Array(n);
    for (let k = 0; k < n; k++) this.packed[k] = key[list[k]!]! * n + k;
    this.packed.sort();
    for (let k = 0; k < n; k++) out[k] = list[this.packed[k]! % n]!;
  }
}
