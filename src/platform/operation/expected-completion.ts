/** When a job is expected to be finished, as the plan sees it. */
export interface ExpectedCompletion {
  number: number;
  title: string;
  /** Null when the job has no task left to plan, or one that fits nowhere. */
  day: string | null;
  reasons: string[];
}
