/**
 * What remains to be done to a machine once it is finished: maintenance, and when it first falls due, counted from the
 * hand-over. It follows from the engine, the kind of machine, the equipment on it and the parts that were fitted. Common
 * practice, no source; the maker's manual goes before it wherever it says otherwise.
 */
import type { EngineType } from '../../platform/database/client/enums.js';
import {
  engineItems,
  equipmentItems,
  kindItems,
  type MaintenanceItem,
  newBelt,
  partOf,
  seasonOf,
} from './maintenance-items.js';

export interface FittedPart {
  name: string;
  fastener: string | null;
  designedToFail: boolean;
  quantity: number;
}

export interface MaintainedMachine {
  kind: string;
  /** Null where it is not known. */
  engineType: EngineType | null;
  equipment: readonly { name: string; status: string }[];
  partsFitted: readonly FittedPart[];
}

export interface MaintenanceDue extends MaintenanceItem {
  /** The parts that were fitted to what it is about, as they were fitted. */
  fitted: string[];
}

export function maintenanceFor(machine: MaintainedMachine): MaintenanceDue[] {
  const { before, after } = seasonOf(machine.kind);
  const carried = machine.equipment.filter((one) => one.status === 'fitted').map((one) => one.name);
  const items = [
    ...engineItems[machine.engineType ?? 'unknown'](before, after),
    ...(kindItems[machine.kind] ?? []),
    ...equipmentItems.filter(({ words }) => carried.some((name) => words.test(name))).map(({ make }) => make(before)),
    ...(machine.partsFitted.some(isBelt) ? [newBelt] : []),
  ];
  return items.map((one) => ({
    ...one,
    fitted: machine.partsFitted.filter((part) => belongsTo(part, one.title)).map(fittedWords),
  }));
}

const isBelt = ({ name }: FittedPart): boolean => /\bbelt\b/i.test(name);

function belongsTo(part: FittedPart, title: string): boolean {
  if (part.designedToFail) return title === 'Shear bolts';
  if (part.fastener !== null) return title === 'Fasteners';
  if (title === newBelt.title) return isBelt(part);
  return partOf.some((one) => one.title === title && one.words.test(part.name));
}

/** `3 × Scraper bar bolt (5/16-18 x 1 carriage, grade 8)`. */
export const fittedWords = ({ name, quantity, fastener }: Omit<FittedPart, 'designedToFail'>): string =>
  `${quantity} × ${name}${fastener && fastener !== name ? ` (${fastener})` : ''}`;
