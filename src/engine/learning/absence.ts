import { Random } from '../statistics/random.js';
import { Normals } from './normals.js';

/** Unplanned absence in the shop's past: spells of sickness on days that would have been worked. */
export interface AbsenceRecord {
  /** Days worked or missed through sickness, all people together. */
  personDays: number;
  /** Working days each spell lasted. */
  spellDays: readonly number[];
}

export interface AbsencePriors {
  /** Spells a person-day, and of how many person-days that is worth. */
  spellsPerDay: number;
  weightDays: number;
  /** Longest usual spell; each length from 1 day on is as likely, and worth so many spells. */
  maxSpellDays: number;
  weightPerLength: number;
}

/** Judgement: about a week a year, spells of one to five days. */
export const STATED_ABSENCE_PRIORS: AbsencePriors = {
  spellsPerDay: 0.007,
  weightDays: 25,
  maxSpellDays: 5,
  weightPerLength: 2,
};

export interface AbsenceQuestion {
  record: AbsenceRecord;
  /** Of each person, how many working days lie ahead. */
  workingDays: readonly number[];
  seed: number;
  samples: number;
  priors?: AbsencePriors;
}

/** One course of sickness that may come: per person, 1 on each working day missed. */
export type AbsenceSample = Uint8Array[];

/**
 * Courses of sickness, each as likely as the others. The rate of spells is drawn anew for each from its gamma posterior
 * (conjugate to a count of events), lengths from what was seen and the prior. Same record and seed: same courses.
 */
export function sampleAbsences(question: AbsenceQuestion): AbsenceSample[] {
  const { record, workingDays, seed, samples, priors = STATED_ABSENCE_PRIORS } = question;
  const normals = new Normals(new Random(seed, 73));
  const shape = priors.spellsPerDay * priors.weightDays + record.spellDays.length;
  const exposure = priors.weightDays + record.personDays;
  const lengths = lengthTable(record.spellDays, priors);
  return Array.from({ length: samples }, () => {
    const rate = normals.gamma(shape) / exposure;
    return workingDays.map((days) => {
      const missed = new Uint8Array(days);
      for (let day = 0; day < days; day++) {
        if (normals.uniform() >= rate) continue;
        const length = lengths[Math.min(lengths.length - 1, Math.floor(normals.uniform() * lengths.length))]!;
        for (const end = Math.min(days, day + length); day < end; day++) missed[day] = 1;
        day -= 1;
      }
      return missed;
    });
  });
}

/** Expected share of working days missed. */
export function expectedAbsentShare(record: AbsenceRecord, priors: AbsencePriors = STATED_ABSENCE_PRIORS): number {
  const rate =
    (priors.spellsPerDay * priors.weightDays + record.spellDays.length) / (priors.weightDays + record.personDays);
  const lengths = lengthTable(record.spellDays, priors);
  const mean = lengths.reduce((sum, one) => sum + one, 0) / lengths.length;
  return (rate * mean) / (1 + rate * mean);
}

/** Spell lengths as they are drawn: those seen, and the prior's. */
function lengthTable(seen: readonly number[], { maxSpellDays, weightPerLength }: AbsencePriors): number[] {
  const prior = Array.from({ length: maxSpellDays * weightPerLength }, (_, k) => 1 + (k % maxSpellDays));
  return [...prior, ...seen.map((days) => Math.max(1, Math.round(days)))].sort((a, b) => a - b);
}
