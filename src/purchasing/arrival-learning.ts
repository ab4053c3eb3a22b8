/**
 * What is learnt from a shop's order history, kept by the thread that learnt it for as long as the history stands.
 * Learning is pure, so the same history gives the same model: keeping it saves the work of every step that does not
 * touch orders, and forgetting it costs nothing but that work.
 */
import { createHash } from 'node:crypto';
import { LRUCache } from 'lru-cache';
import { type ArrivalForecast, type ArrivalLine, forecastArrival, learnArrivals } from '../engine/arrival/index.js';

interface Learned {
  forecast(line: ArrivalLine): ArrivalForecast;
}

/** By what the history says. */
const learnedCache = new LRUCache<string, Learned>({ max: 16 });

export interface ArrivalQuestion {
  /** Every order line of the shop. */
  history: readonly ArrivalLine[];
  today: string;
  /** What is to be forecast: lines of the history that still wait, or such as might be ordered today. */
  lines: readonly ArrivalLine[];
}

/** One forecast a line, in their order. @throws EngineError for a line that no longer waits */
export function forecastLines({ history, today, lines }: ArrivalQuestion): ArrivalForecast[] {
  const learned = learnedFrom(history, today);
  return lines.map((line) => learned.forecast(line));
}

/** The history's content, ids included, is the key. */
function learnedFrom(history: readonly ArrivalLine[], today: string): Learned {
  const key = createHash('sha256').update(today).update(JSON.stringify(history)).digest('base64');
  const learned = learnedCache.get(key) ?? learn(history, today);
  learnedCache.set(key, learned);
  return learned;
}

function learn(history: readonly ArrivalLine[], today: string): Learned {
  const model = learnArrivals(history, today);
  const forecasts = new Map<string, ArrivalForecast>();
  return {
    forecast(line) {
      const key = JSON.stringify([line.id, line.supplierId, line.family]);
      const forecast = forecasts.get(key) ?? forecastArrival(model, line, today);
      forecasts.set(key, forecast);
      return forecast;
    },
  };
}
