/** How the background's planning is paced. */
export interface ReplanSettings {
  /** Counted in schedules and not in time, so that the same records give the same plan on any machine. */
  schedules: number;
  scenarios: number;
  /** How long a burst of changes is waited out, from its first. */
  settleMilliseconds: number;
  /** How long a claim holds after it was last heard of; then it is anyone's. */
  leaseSeconds: number;
  /** How often at most a planning is heard of while it runs. */
  progressMilliseconds: number;
  /** A plan older than this is renewed though nothing changed, since time passes. */
  refreshSeconds: number;
  pollMilliseconds: number;
}

export const REPLAN: ReplanSettings = {
  schedules: 1500,
  scenarios: 2000,
  settleMilliseconds: 1500,
  leaseSeconds: 60,
  progressMilliseconds: 500,
  refreshSeconds: 3600,
  pollMilliseconds: 1000,
};
