import type { Thread } from './threads.js';
import type { Drive, Finish, Grade, Head } from './vocabulary.js';

/** What a fastener designation says; null for what it leaves unsaid. */
export interface Fastener {
  thread: Thread;
  /** Nominal length in mm, from under the head (over all for countersunk heads, set screws and studs). */
  lengthMillimetres: number | null;
  head: Head | null;
  drive: Drive | null;
  grade: Grade | null;
  finish: Finish | null;
  /** Product standard, as 'ISO 4017' or 'DIN 933'. */
  standard: string | null;
  /** Made to break before the machine does: a shear bolt or pin. */
  designedToFail: boolean;
}
