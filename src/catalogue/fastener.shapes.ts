import { z } from 'zod';
import { choice, int, shape } from '../platform/shapes.js';

export const ThreadSystem = choice('ThreadSystem', ['inch', 'metric']);

export const ThreadSurface = choice('ThreadSurface', ['dry', 'oiled', 'plated']);

const CitedFigure = shape(
  'CitedFigure',
  {
    value: z.number(),
    tabulated: z.boolean().meta({ description: "A standard's table gives it; otherwise it is computed." }),
    source: z.string(),
  },
  'A figure with where it comes from.',
);
const Wrench = shape(
  'Wrench',
  {
    tool: z.string().meta({ description: 'As it is marked, such as 7/16 in.' }),
    millimetres: z.number(),
    standard: z.string(),
    source: z.string(),
  },
  'A wrench that fits, by the standard that the head was made to.',
);
const Drill = shape('Drill', { name: z.string(), millimetres: z.number(), source: z.string() });
const ClearanceHoles = shape('ClearanceHoles', { close: Drill, free: Drill });
const FastenerStrength = shape('FastenerStrength', {
  proofMegapascals: z.number(),
  yieldMegapascals: z.number(),
  tensileMegapascals: z.number(),
  source: z.string(),
});
const FastenerLoads = shape('FastenerLoads', {
  proofNewtons: CitedFigure,
  tensileNewtons: CitedFigure,
  computedProofNewtons: z.number(),
});
const FastenerTorque = shape(
  'FastenerTorque',
  {
    newtonMetres: z.number(),
    inchPounds: z.number(),
    footPounds: z.number(),
    clampNewtons: z.number(),
    nutFactorK: z.number(),
    clampShare: z.number(),
    source: z.string(),
  },
  "An estimate of the tightening torque by the nut factor; the maker's manual rules.",
);

/** What a designation says, and what follows from it. */
export const FastenerFacts = shape(
  'FastenerFacts',
  {
    designation: z.string().meta({ description: 'As the trade writes it in full.' }),
    system: ThreadSystem,
    size: z.string(),
    series: z.string(),
    majorDiameterMillimetres: z.number(),
    pitchMillimetres: z.number(),
    threadsPerInch: z.number().nullable(),
    toleranceClass: z.string().nullable(),
    leftHand: z.boolean(),
    starts: int(1, 20),
    lengthMillimetres: z.number().nullable(),
    head: z.string().nullable(),
    drive: z.string().nullable(),
    grade: z.string().nullable(),
    finish: z.string().nullable(),
    standard: z.string().nullable(),
    designedToFail: z.boolean(),
    assumed: z.array(z.string()).meta({ description: 'What the designation left unsaid and was taken for granted.' }),
    stressAreaSquareMillimetres: CitedFigure,
    computedStressAreaSquareMillimetres: z.number(),
    acrossFlats: z.array(Wrench).meta({ description: 'Wrenches that fit, the likeliest first.' }),
    wrenchReasons: z
      .array(z.string())
      .meta({ description: 'Why no wrench can be named, such as a designation without a head; empty where one is.' }),
    strength: FastenerStrength.nullable(),
    loads: FastenerLoads.nullable(),
    torque: FastenerTorque.nullable(),
    tapDrill: Drill.nullable(),
    clearanceHoles: ClearanceHoles.nullable(),
    cautions: z.array(z.string()),
  },
  "What a fastener's designation says, and what follows from it.",
);
