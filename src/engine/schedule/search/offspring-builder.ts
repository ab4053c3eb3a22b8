import type { Random } from '../../statistics/random.js';
import type { Individual, Model } from './model.js';

/** Makes lists: random ones, and children of lists that are known. The result stands in `child`, predecessors first. */
export class OffspringBuilder {
  readonly child: Int32Array;
  private readonly scratch: Int32Array;
  private readonly group: Uint8Array;
  private readonly placed: Uint8Array;
  private readonly missing: Int32Array;
  private filled = 0;

  /** @param model may be changed for another one over the same tasks. */
  constructor(
    public model: Model,
    private readonly random: Random,
  ) {
    const tasks = model.before.length;
    this.child = new Int32Array(model.free.length);
    this.scratch = new Int32Array(model.free.length);
    this.group = new Uint8Array(tasks);
    this.placed = new Uint8Array(tasks);
    this.missing = new Int32Array(tasks);
  }

  /** Child: the mother's order, but the tasks that the father starts in one of his busy stretches come in his order. */
  crossBusyStretch(mother: Individual, father: Individual): void {
    const { model, random, group, child } = this;
    const list = father.list;
    const first = beginOf(father);
    const span = endOf(father, model.length) - first;
    let from = first;
    let to = first;
    let busiest = -1;
    for (let k = 0; k < 3; k++) {
      const width = 1 + Math.floor(span * (0.2 + 0.4 * random.next()));
      const begin = first + random.below(Math.max(1, span - width));
      let work = 0;
      for (let m = 0; m < list.length; m++) {
        const i = list[m]!;
        const overlap =
          Math.min(begin + width, father.start[i]! + model.length[i]!) - Math.max(begin, father.start[i]!);
        if (overlap > 0) work += overlap * model.share[i]!;
      }
      if (work / width > busiest) {
        busiest = work / width;
        from = begin;
        to = begin + width;
      }
    }
    const middle = (from + to) / 2;
    for (let k = 0; k < list.length; k++) {
      const i = list[k]!;
      group[i] = father.start[i]! >= from && father.start[i]! < to ? 1 : mother.start[i]! < middle ? 0 : 2;
    }
    let filled = this.take(mother.list, 0, 0);
    filled = this.take(list, 1, filled);
    this.take(mother.list, 2, filled);
    this.repair(child);
  }

  /** Child: one parent's order with the tasks of one stretch of time in random order. */
  shuffleStretch(parent: Individual): void {
    const { model, random, group, child } = this;
    const list = parent.list;
    const first = beginOf(parent);
    const span = endOf(parent, model.length) - first;
    const width = 1 + Math.floor(span * (0.1 + 0.3 * random.next()));
    const from = first + random.below(Math.max(1, span - width + 1));
    for (let k = 0; k < list.length; k++) {
      const i = list[k]!;
      const s = parent.start[i]!;
      group[i] = s + model.length[i]! > from && s < from + width ? 1 : s < from ? 0 : 2;
    }
    const begin = this.take(list, 0, 0);
    const end = this.take(list, 1, begin);
    this.take(list, 2, end);
    for (let k = end - 1; k > begin; k--) {
      const other = begin + random.below(k - begin + 1);
      const i = child[k]!;
      child[k] = child[other]!;
      child[other] = i;
    }
    this.repair(child);
  }

  private take(list: Int32Array, wanted: number, filled: number): number {
    const { child, group } = this;
    for (let k = 0; k < list.length; k++) if (group[list[k]!] === wanted) child[filled++] = list[k]!;
    return filled;
  }

  /** Moves one random task of the child to a random place that keeps its predecessors before it and its followers after. */
  moveOne(): void {
    const { child, model, random } = this;
    const k = random.below(child.length);
    const i = child[k]!;
    const before = model.before[i]!;
    const after = model.after[i]!;
    let low = k;
    let high = k;
    while (low > 0 && !delays(before, child[low - 1]!)) low--;
    while (high < child.length - 1 && !delays(after, child[high + 1]!)) high++;
    const to = low + random.below(high - low + 1);
    if (to < k) child.copyWithin(to + 1, to, k);
    else child.copyWithin(k, k + 1, to + 1);
    child[to] = i;
  }

  /** Moves all tasks of one random job by the same distance towards the front or the back of the child. */
  moveGroup(): void {
    const { model, random, child, group, scratch } = this;
    const job = random.below(model.groups);
    const n = child.length;
    const distance = random.below(2 * n) - n;
    // Merge the job's tasks, each at its place plus the distance, with the others at theirs.
    let own = 0;
    for (let k = 0; k < n; k++) {
      group[child[k]!] = model.groupOf[child[k]!] === job ? 1 : 0;
      if (group[child[k]!]) scratch[own++] = k;
    }
    const places = scratch.slice(0, own);
    const before = child.slice();
    let other = 0;
    for (let k = 0, next = 0; k < n; k++) {
      while (other < n && group[before[other]!] === 1) other++;
      const takeOwn = next < own && (other >= n || places[next]! + distance <= other);
      child[k] = takeOwn ? before[places[next++]!]! : before[other++]!;
    }
    this.repair(child);
  }

  /** A random list that serves job after job, urgent jobs likelier first. */
  sampleByGroup(): void {
    const { model, random, child } = this;
    const urgency = new Float64Array(model.groups + 1).fill(Infinity);
    for (const i of model.free) {
      const g = model.groupOf[i]! + 1;
      urgency[g] = Math.min(urgency[g]!, model.urgency[i]!);
    }
    const ranks = [...urgency.keys()].sort((a, b) => urgency[a]! - urgency[b]! || a - b);
    const blur = random.next() * ranks.length;
    const key = new Float64Array(ranks.length);
    ranks.forEach((g, rank) => (key[g] = rank + blur * random.next()));
    const list = [...model.free].sort(
      (a, b) =>
        key[model.groupOf[a]! + 1]! - key[model.groupOf[b]! + 1]! || model.urgency[a]! - model.urgency[b]! || a - b,
    );
    child.set(list);
    this.repair(child);
  }

  /** A random list, urgent tasks likelier first (regret-based biased random sampling, Kolisch 1996). */
  sample(): void {
    const { model, random, missing, child } = this;
    const ready: number[] = [];
    for (const i of model.free) {
      missing[i] = model.before[i]!.length;
      if (missing[i] === 0) ready.push(i);
    }
    const floor = this.probabilityForAll();
    for (let filled = 0; ready.length > 0; filled++) {
      let last = -Infinity;
      for (const i of ready) last = Math.max(last, model.urgency[i]!);
      let total = 0;
      for (const i of ready) total += (last - model.urgency[i]! + floor) ** 2;
      let draw = random.next() * total;
      let k = 0;
      for (; k < ready.length - 1; k++) {
        draw -= (last - model.urgency[ready[k]!]! + floor) ** 2;
        if (draw < 0) break;
      }
      const i = ready[k]!;
      ready.splice(k, 1);
      child[filled] = i;
      for (const j of model.after[i]!) if (--missing[j]! === 0) ready.push(j);
    }
  }

  /** Regret that even the least urgent task gets: a fifth of the mean length. */
  private probabilityForAll(): number {
    let sum = 0;
    for (const i of this.model.free) sum += this.model.length[i]!;
    return Math.max(1, sum / (5 * this.model.free.length));
  }

  /** Moves each task of `list` behind its predecessors, otherwise keeping the order. */
  private repair(list: Int32Array): void {
    const { placed, scratch } = this;
    placed.fill(0);
    this.filled = 0;
    for (let k = 0; k < list.length; k++) if (placed[list[k]!] === 0) this.put(list[k]!);
    list.set(scratch);
  }

  private put(i: number): void {
    const { placed } = this;
    placed[i] = 1;
    const before = this.model.before[i]!;
    for (let k = 0; k < before.length; k++) if (placed[before[k]!] === 0) this.put(before[k]!);
    this.scratch[this.filled++] = i;
  }
}

/** Start of the first task; it need not be the first of the list where followers have been drawn up. */
function beginOf({ list, start }: Individual): number {
  let begin = start[list[0]!]!;
  for (let k = 1; k < list.length; k++) if (start[list[k]!]! < begin) begin = start[list[k]!]!;
  return begin;
}

/** Finish of the last task, tasks without a place aside. */
function endOf(individual: Individual, length: Int32Array): number {
  let end = 0;
  for (let k = 0; k < individual.list.length; k++) {
    const i = individual.list[k]!;
    if (individual.start[i]! < 2 ** 30) end = Math.max(end, individual.start[i]! + length[i]!);
  }
  return end;
}

/** `includes`, but several times as fast on lists of one to three. */
function delays(list: Int32Array, wanted: number): boolean {
  for (let k = 0; k < list.length; k++) if (list[k] === wanted) return true;
  return false;
}
