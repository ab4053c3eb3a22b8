import type { DraftField } from './tally.js';

/**
 * Elements of GHCN-Daily that are used, with their units as stored: NOAA NCEI, GHCN-Daily readme.txt, section III
 * ("PRCP tenths of mm, SNOW mm, TMAX and TMIN tenths of degrees C, ADPT tenths of degrees C, RHAV percent").
 * Flags of one value: measurement (T a trace, A a total over several days, P taken as zero where nothing was
 * written), quality (blank: passed), source.
 */
export const ELEMENTS: Record<string, { field: DraftField; perUnit: number; unit: string }> = {
  TMAX: { field: 'highCelsius', perUnit: 0.1, unit: 'tenths of °C' },
  TMIN: { field: 'lowCelsius', perUnit: 0.1, unit: 'tenths of °C' },
  PRCP: { field: 'precipitationMillimetres', perUnit: 0.1, unit: 'tenths of mm' },
  SNOW: { field: 'snowfallMillimetres', perUnit: 1, unit: 'mm' },
  RHAV: { field: 'humidityPercent', perUnit: 1, unit: '%' },
  ADPT: { field: 'dewPointCelsius', perUnit: 0.1, unit: 'tenths of °C' },
};

/** The value a whole number stands for, without the dust of binary tenths. */
export const ghcnValue = (stored: number, perUnit: number): number =>
  perUnit === 1 ? stored : stored / Math.round(1 / perUnit);

export const NOT_OBSERVED = -9999;
