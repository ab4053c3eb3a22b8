/** Minutes in the unit a person would use. */
export function sayMinutes(minutes: number): string {
  if (minutes < 90) return `${Math.round(minutes)} minutes`;
  const [value, unit] = minutes < 2880 ? [minutes / 60, 'hours'] : [minutes / 1440, 'days'];
  return `${Math.round(value * 10) / 10} ${unit}`;
}
