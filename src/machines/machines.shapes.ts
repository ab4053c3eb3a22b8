import { z } from 'zod';
import {
  amount,
  choice,
  day,
  decimal,
  editableFields,
  id,
  instant,
  int,
  longText,
  priced,
  shape,
  storedAsJson,
  text,
} from '../platform/shapes.js';

export const AcquisitionSource = choice('AcquisitionSource', [
  'classified',
  'auction',
  'donation',
  'tradeIn',
  'dealer',
  'other',
]);
export const SplitMethod = choice('SplitMethod', ['byValue', 'equal', 'manual']);
export const MachineKind = choice('MachineKind', ['singleStageThrower', 'twoStageThrower', 'walkBehindMower', 'other']);
/** The kinds whose season is the snow. */
export const snowKinds = ['singleStageThrower', 'twoStageThrower'] as const;
export const Disposition = choice('Disposition', ['sell', 'keep', 'donor', 'scrap']);
export const EngineType = choice(
  'EngineType',
  ['fourStroke', 'twoStroke', 'electric'],
  'What drives it; maintenance follows from it. Null where it is not known.',
);
export const EquipmentStatus = choice('EquipmentStatus', ['fitted', 'removed', 'missing']);

/** Something a machine carries beside its engine: an electric starter, a headlight, a chute crank. */
export const Equipment = shape(
  'Equipment',
  { name: z.string(), status: EquipmentStatus, note: z.string().nullable() },
  'Something fitted to a machine, or taken off it.',
);
export const EquipmentGiven = shape('EquipmentGiven', {
  name: text(80),
  status: EquipmentStatus,
  note: text().nullish(),
});

export const condition = int(1, 5).meta({
  scalar: 'Int',
  description: '1 for parts only, 2 not running, 3 running but worn, 4 good, 5 as new.',
});

/**
 * The purchase price of a margin scheme is what the seller obtains (Directive 2006/112/EC art. 312), so what others are paid
 * stands apart. Under an auctioneers' scheme the auctioneer is itself the seller and its premium lies in the price (HMRC
 * Notice 718/2 §2; that the buyer then takes the whole sum as the purchase price is from memory).
 */
const feesMean =
  "What buying it cost beside price and haul, such as a buyer's premium or an auction's fees: part of " +
  'the cost, split like the haul, but not of the price that a margin scheme computes from. Where the ' +
  'auction invoices hammer price and premium as one sum without stating tax, that sum is the price.';
const acquisitionFields = {
  source: AcquisitionSource,
  acquiredDate: day,
  seller: text(120).nullish(),
  place: text(120).nullish(),
  price: amount,
  haulKilometres: decimal(0, 20_000),
  haulCost: amount
    .nullish()
    .meta({ scalar: 'Money', description: "When not given, the kilometres times the shop's cost a kilometre." }),
  fees: amount.meta({ scalar: 'Money', description: feesMean }),
  sellerClaims: longText.nullish(),
  splitMethod: SplitMethod,
  notes: longText.nullish(),
};
export const Acquisition = shape(
  'Acquisition',
  {
    ...editableFields,
    source: AcquisitionSource,
    acquiredDate: day,
    seller: z.string().nullable(),
    place: z.string().nullable(),
    price: priced,
    haulKilometres: z.number(),
    haulCost: priced,
    fees: priced.meta({ priced: true, description: feesMean }),
    sellerClaims: z.string().nullable(),
    splitMethod: SplitMethod,
    notes: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'How machines came in; one acquisition may bring several.',
);
export const AcquisitionCreate = z.strictObject({
  ...acquisitionFields,
  haulKilometres: acquisitionFields.haulKilometres.default(0),
  fees: acquisitionFields.fees.default('0'),
  splitMethod: SplitMethod.default('byValue'),
});
export const AcquisitionChange = z.strictObject(z.object(acquisitionFields).partial().shape);
export const SplitGiven = z.strictObject({
  id,
  version: int(1, 2_000_000_000),
  price: amount.nullish().meta({ scalar: 'Money', description: 'The right price, where it was wrong.' }),
  haulCost: amount.nullish(),
  fees: amount.nullish(),
  shares: z
    .array(shape('MachineShare', { machineId: id, share: amount }, "What one machine bears of its acquisition's cost."))
    .min(1)
    .max(200),
});

const machineFields = {
  kind: MachineKind,
  maker: text(80).nullish().meta({ description: 'Null or left out while it is not known.' }),
  model: text(80).nullish().meta({ description: 'Null or left out while it is not known.' }),
  description: text(160).nullish().meta({ description: 'A word or two that tell it from others, such as rusty red.' }),
  serial: text(80).nullish(),
  yearEstimate: int(1900, 2200).nullish(),
  engine: text(120).nullish(),
  engineType: EngineType.nullish(),
  engineDisplacementCubicCentimetres: int(1, 20_000).nullish(),
  clearingWidthMillimetres: int(1, 10_000).nullish(),
  condition,
  equipment: z.array(EquipmentGiven).max(40),
  disposition: Disposition,
  valueAsFound: amount
    .nullish()
    .meta({ scalar: 'Money', description: "What it was worth as found: the acquisition's cost is split by it." }),
  notes: longText.nullish(),
};
export const Machine = shape(
  'Machine',
  {
    ...editableFields,
    acquisitionId: id.nullable(),
    kind: MachineKind,
    maker: z.string().nullable(),
    model: z.string().nullable(),
    description: z.string().nullable(),
    serial: z.string().nullable(),
    yearEstimate: z.number().int().nullable().meta({ scalar: 'Int' }),
    engine: z.string().nullable(),
    engineType: EngineType.nullable(),
    engineDisplacementCubicCentimetres: z.number().int().nullable().meta({ scalar: 'Int' }),
    clearingWidthMillimetres: z.number().int().nullable().meta({ scalar: 'Int' }),
    condition,
    equipment: storedAsJson(z.array(Equipment)),
    disposition: Disposition,
    valueAsFound: priced,
    acquisitionShare: priced,
    notes: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'The thing itself.',
);
const machineDefaults = {
  condition: condition.default(2),
  equipment: z.array(EquipmentGiven).max(40).default([]),
  disposition: Disposition.default('sell'),
};
/** A machine beside others of its acquisition; `share` is used when the split is manual. */
export const MachineInLot = shape('MachineInLot', {
  ...machineFields,
  ...machineDefaults,
  share: amount.nullish().meta({ scalar: 'Money', description: 'Its part of the cost, where the split is manual.' }),
});
export const MachineCreate = z.strictObject({ ...machineFields, ...machineDefaults, acquisitionId: id.nullish() });
export const MachineChange = z.strictObject({
  ...z.object(machineFields).partial().shape,
  acquisitionId: id.nullish().meta({
    scalar: 'ID',
    description: 'What it came in with, where that was wrong or not recorded; the shares are split anew.',
  }),
});
