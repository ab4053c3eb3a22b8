import { z } from 'zod';
import { id, int, shape } from '../platform/shapes.js';
import { InterchangeEvidence } from './catalogue.shapes.js';

const probability = z.number().min(0).max(1);
export const SubstituteStep = shape(
  'SubstituteStep',
  {
    claimId: id.nullable().meta({ description: 'Null where the maker has superseded the part.' }),
    partId: id,
    servesForId: id,
    evidence: InterchangeEvidence,
    confidence: probability,
  },
  'One claim of a chain, in the direction in which it is used.',
);
export const Substitute = shape(
  'Substitute',
  {
    partId: id,
    partName: z.string(),
    allowed: z.boolean().meta({
      description:
        'False for a part that is made to break, where the designations name threads that do ' +
        'not screw together, and where another claim says the opposite.',
    }),
    quantityFree: z.number(),
    path: z
      .array(SubstituteStep)
      .meta({ description: 'From the part that serves, claim by claim, to the one that is wanted.' }),
    conditions: z.string().nullable(),
    confidence: probability.meta({ description: "The product of the claims' chances, taken as independent." }),
    seenFitted: z.boolean(),
    contradictedBy: z.array(id),
    reasons: z.array(z.string()),
  },
  'One way in which a part serves for the wanted one.',
);
export const SubstituteContradiction = shape(
  'SubstituteContradiction',
  { refutedBy: id, partId: id, servesForId: id, path: z.array(SubstituteStep), reasons: z.array(z.string()) },
  'A claim that a part does not serve, and the claims that together say it does.',
);
export const Substitutes = shape(
  'Interchanges',
  {
    partId: id,
    ways: z.array(Substitute),
    contradictions: z.array(SubstituteContradiction),
    supersession: z
      .array(id)
      .meta({ description: "What the part has become in the maker's catalogue: itself first, the current one last." }),
  },
  'What serves for a part, the most trusted first.',
);
export const year = int(1900, 2200).nullish();
