/** Minutes in words: in a sentence, as the length of work, and as a guess. One way each, for all answers and pages. */

/** `1 task`, `2 tasks`. */
export function plural(count: number, noun: string, many = `${noun}s`): string {
  return `${count} ${count === 1 ? noun : many}`;
}

const tenth = (value: number): number => Math.round(value * 10) / 10;

/** A span in a sentence, to a tenth: "45 minutes", "1 hour", "90 minutes", "2.5 hours", "24 hours", "14 days". */
export function minutesInWords(minutes: number): string {
  const whole = Math.round(minutes);
  if (whole < 120 && whole !== 60) return plural(whole, 'minute');
  return whole < 2880 ? plural(tenth(whole / 60), 'hour') : plural(tenth(whole / 1440), 'day');
}

/** How long work takes, where room is short: "35 min", "1 h", "1 h 50", "12 h". From ten hours on the minutes are left out. */
export function shortWorkTime(minutes: number): string {
  const whole = Math.max(0, Math.round(minutes));
  if (whole < 60) return `${whole} min`;
  const rest = whole % 60;
  return rest === 0 || whole >= 600
    ? `${Math.round(whole / 60)} h`
    : `${Math.floor(whole / 60)} h ${String(rest).padStart(2, '0')}`;
}

/** A wait that is only roughly known: "15 minutes", "about 5 hours", "about 6 days", "about 3 weeks". */
export function roughWait(minutes: number): string {
  if (minutes < 90) return plural(Math.max(1, Math.round(minutes)), 'minute');
  if (minutes < 36 * 60) return `about ${plural(Math.round(minutes / 60), 'hour')}`;
  return roughDays(minutes / 1440);
}

/** "less than a day", "about 6 days", "about 3 weeks", "about 4 months". */
export function roughDays(days: number): string {
  const whole = Math.round(days);
  if (whole < 1) return 'less than a day';
  if (whole < 14) return `about ${plural(whole, 'day')}`;
  if (whole < 70) return `about ${plural(Math.round(days / 7), 'week')}`;
  return `about ${plural(Math.round(days / 30.44), 'month')}`;
}
