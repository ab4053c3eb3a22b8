import type { Compiled } from '../problem/compile.js';

/**
 * So many tasks at most come between a task and a follower that is to start soon after it. With none, some optimal
 * schedules of small shops cannot be made; with more, there is more to backtrack over.
 */
const BETWEEN = 2;

/**
 * Draws followers that are to start soon after their predecessor up behind it in the list, so that not much else takes
 * their place first and, where they miss it all the same, there is little to backtrack over. A few tasks may stay in between:
 * sometimes it is best to do one of them while the first coat flashes off. A task with the followers drawn up behind it,
 * and theirs behind them, is a recoat chain.
 */
export class RecoatChains {
  /** For each task, the first one of its chain: itself, for most. */
  readonly head: Int32Array;
  private readonly order: Int32Array;
  /** For each task, the links with forbidden intervals that lead to free followers, and those followers. */
  private readonly links: Int32Array[];
  private readonly followers: Int32Array[];
  private readonly listed: Uint8Array;
  private filled = 0;
  /** Followers in order of the place in `order` at which they come at the latest, and those places. */
  private readonly awaited: Int32Array;
  private readonly latest: Int32Array;
  private waiting = 0;

  constructor(private readonly compiled: Compiled) {
    const { count, linkFrom, linkTask, forbiddenFrom, isFixed } = compiled;
    this.order = new Int32Array(compiled.free.length);
    this.head = new Int32Array(count);
    this.listed = new Uint8Array(count);
    const links: number[][] = compiled.tasks.map(() => []);
    const followers: number[][] = compiled.tasks.map(() => []);
    for (let j = 0; j < count; j++) {
      if (isFixed[j]) continue;
      for (let l = linkFrom[j]!; l < linkFrom[j + 1]!; l++) {
        if (forbiddenFrom[l] === forbiddenFrom[l + 1]) continue;
        links[linkTask[l]!]!.push(l);
        followers[linkTask[l]!]!.push(j);
      }
    }
    this.links = links.map((list) => Int32Array.from(list));
    this.followers = followers.map((list) => Int32Array.from(list));
    this.awaited = new Int32Array(compiled.linkTask.length);
    this.latest = new Int32Array(compiled.linkTask.length);
  }

  /**
   * Forms the recoat chains of `list`, which has predecessors first; what comes out would be left as it is. The next call
   * overwrites it.
   * @param firstWindow 1 for each link whose follower is to start soon.
   */
  form(list: Int32Array, firstWindow: Uint8Array): Int32Array {
    const { awaited, latest, listed, head } = this;
    listed.set(this.compiled.isFixed);
    this.filled = 0;
    this.waiting = 0;
    for (let k = 0; k < list.length; k++) head[list[k]!] = list[k]!;
    for (let k = 0, due = 0; k < list.length; k++) {
      for (; due < this.waiting && latest[due]! <= this.filled; due++) {
        const follower = awaited[due]!;
        if (listed[follower] === 0 && this.predecessorsListed(follower)) this.put(follower, firstWindow);
      }
      if (listed[list[k]!] === 0) this.put(list[k]!, firstWindow);
    }
    return this.order;
  }

  private put(i: number, firstWindow: Uint8Array): void {
    this.listed[i] = 1;
    this.order[this.filled++] = i;
    const links = this.links[i]!;
    for (let k = 0; k < links.length; k++) {
      if (firstWindow[links[k]!] !== 1) continue;
      const follower = this.followers[i]![k]!;
      this.head[follower] = this.head[i]!;
      this.awaited[this.waiting] = follower;
      this.latest[this.waiting++] = this.filled + BETWEEN;
    }
  }

  private predecessorsListed(j: number): boolean {
    const { linkFrom, linkTask } = this.compiled;
    for (let l = linkFrom[j]!; l < linkFrom[j + 1]!; l++) if (this.listed[linkTask[l]!] === 0) return false;
    return true;
  }
}
