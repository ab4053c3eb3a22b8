import { EngineError } from '../error.js';
import { type RecoatRates, type RecoatWindow, tableRate } from './recoat-table.js';

export type { RecoatWindow } from './recoat-table.js';

/** The gas constant, J/(mol·K): exact since the 2019 redefinition of the SI, 8.31446261815324. */
const GAS_CONSTANT = 8.31446261815324;
const KELVIN = 273.15;

/** How drying speeds up with warmth: twice as fast each so many degrees, by Arrhenius, or evenly from a datum. */
export type TemperatureSensitivity =
  { rateDoublingCelsius: number } | { activationKilojoulesPerMole: number } | { datumCelsius: number };

/** What a can's data sheet says about drying. */
export interface DryingSheet {
  name: string;
  /** The temperature at which the times below are stated. */
  referenceCelsius: number;
  /** Nothing dries below the least; above the most, nothing dries faster than there. */
  minCelsius: number;
  maxCelsius: number;
  touchMinutes: number;
  handleMinutes: number;
  assembleMinutes: number;
  fullMinutes: number;
  /** In order and apart. */
  recoatMinutes: readonly RecoatWindow[];
  /** From the sheet's printed table of recoat times by temperature, coldest first; the general rule holds where absent. */
  recoatRates?: readonly RecoatRates[];
  sensitivity: TemperatureSensitivity;
  /** The film the times are stated for. */
  dryFilmMicrometres: number;
}

export type CureStage = 'wet' | 'touch' | 'handle' | 'assemble' | 'full';

/** The stages a coat reaches, in order, with their age at reference conditions. */
export function stagesOf(sheet: DryingSheet): { stage: Exclude<CureStage, 'wet'>; minutes: number }[] {
  return [
    { stage: 'touch', minutes: sheet.touchMinutes },
    { stage: 'handle', minutes: sheet.handleMinutes },
    { stage: 'assemble', minutes: sheet.assembleMinutes },
    { stage: 'full', minutes: sheet.fullMinutes },
  ];
}

/**
 * How many minutes at the reference temperature one minute at `celsius` is worth, without regard to limits.
 * Doubling: 2^((T − Tref) / step). Arrhenius: exp(−Ea/R · (1/T − 1/Tref)), temperatures in kelvin, as in the
 * equivalent age of ASTM C1074; a paint does not share concrete's activation energy, so it is the sheet's own.
 * Datum: (T − T0) / (Tref − T0) and nothing below T0, as in Nurse and Saul's maturity.
 */
export function dryingRate(sensitivity: TemperatureSensitivity, celsius: number, referenceCelsius: number): number {
  if ('rateDoublingCelsius' in sensitivity)
    return 2 ** ((celsius - referenceCelsius) / sensitivity.rateDoublingCelsius);
  if ('datumCelsius' in sensitivity)
    return Math.max(0, (celsius - sensitivity.datumCelsius) / (referenceCelsius - sensitivity.datumCelsius));
  const activation = (sensitivity.activationKilojoulesPerMole * 1000) / GAS_CONSTANT;
  return Math.exp(-activation * (1 / (celsius + KELVIN) - 1 / (referenceCelsius + KELVIN)));
}

/**
 * The rate the coat's clock runs at: none below the least temperature, since a sheet says nothing about drying
 * there, and no faster than at the most.
 */
export function clockRate(sheet: DryingSheet, celsius: number): number {
  return celsius < sheet.minCelsius
    ? 0
    : dryingRate(sheet.sensitivity, Math.min(celsius, sheet.maxCelsius), sheet.referenceCelsius);
}

/** The rate at which a coat comes to its recoat windows: by the sheet's own table where it has one, else as it dries. */
export function openingRate(sheet: DryingSheet, celsius: number): number {
  if (!sheet.recoatRates?.length) return clockRate(sheet, celsius);
  if (celsius < sheet.minCelsius) return 0;
  return tableRate(sheet.recoatRates, Math.min(celsius, sheet.maxCelsius), 'opening', ruleOf(sheet));
}

/**
 * The rate at which a recoat window runs out. Below the least temperature it goes on as at the least: a cold coat
 * may harden unevenly, and a window must not be taken to stay open because nobody knows.
 */
export function closingRate(sheet: DryingSheet, celsius: number): number {
  const allowed = Math.max(celsius, sheet.minCelsius);
  return sheet.recoatRates?.length
    ? tableRate(sheet.recoatRates, Math.min(allowed, sheet.maxCelsius), 'closing', ruleOf(sheet))
    : clockRate(sheet, allowed);
}

const ruleOf =
  ({ sensitivity }: DryingSheet) =>
  (celsius: number, atCelsius: number): number =>
    dryingRate(sensitivity, celsius, atCelsius);

/** @throws EngineError `bad-sheet` naming the field */
export function validateSheet(sheet: DryingSheet): void {
  const fail = (message: string, path: string): never => {
    throw new EngineError('bad-sheet', `${sheet.name}: ${message}`, path);
  };
  for (const key of ['referenceCelsius', 'minCelsius', 'maxCelsius'] as const) {
    if (!(sheet[key] >= -50 && sheet[key] <= 300)) fail('must be a temperature between -50 and 300 °C', key);
  }
  if (sheet.minCelsius >= sheet.maxCelsius) fail('the least temperature must be below the most', 'minCelsius');
  if (sheet.referenceCelsius < sheet.minCelsius || sheet.referenceCelsius > sheet.maxCelsius)
    fail('the reference temperature must lie within the limits', 'referenceCelsius');
  let before = 0;
  for (const { stage, minutes } of stagesOf(sheet)) {
    if (!Number.isFinite(minutes) || minutes <= 0) fail('must be above 0 minutes', `${stage}Minutes`);
    if (minutes < before) fail('must not be earlier than the stage before it', `${stage}Minutes`);
    before = minutes;
  }
  const { sensitivity } = sheet;
  if ('datumCelsius' in sensitivity) {
    if (!(sensitivity.datumCelsius < sheet.referenceCelsius))
      fail('the datum must be below the reference temperature', 'sensitivity');
  } else if (
    !(
      ('rateDoublingCelsius' in sensitivity
        ? sensitivity.rateDoublingCelsius
        : sensitivity.activationKilojoulesPerMole) > 0
    )
  )
    fail('must be above 0', 'sensitivity');
  if (!(sheet.dryFilmMicrometres > 0)) fail('must be above 0', 'dryFilmMicrometres');
  if (sheet.recoatMinutes.length === 0) fail('needs at least one recoat window', 'recoatMinutes');
  let closed = -1;
  sheet.recoatMinutes.forEach(({ fromMinutes, toMinutes }, k) => {
    if (!(fromMinutes >= 0) || fromMinutes <= closed)
      fail('recoat windows must stand in order and apart', `recoatMinutes[${k}]`);
    if (toMinutes != null && toMinutes <= fromMinutes)
      fail('must close after it opens', `recoatMinutes[${k}].toMinutes`);
    closed = toMinutes ?? Infinity;
  });
}
