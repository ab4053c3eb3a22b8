import type { Fastener } from './designation.js';
import { printDesignation, printThread, showLength } from './print.js';
import { strengthOf } from './strength.js';
import { sameThread } from './threads.js';
import { type Finish, type Grade, type Head, isNut } from './vocabulary.js';

/** What the joint asks for, beyond the designation of the part that is wanted. */
export interface Joint {
  /** Shortest and longest length that will do, in mm; without it the length must be equal. */
  grip?: { fromMillimetres: number; toMillimetres: number };
  /** The part may get wet or salted. True when absent: these machines work in snow. */
  exposed?: boolean;
  /** What the fastener goes into or through; steel when absent. */
  material?: 'steel' | 'stainless' | 'aluminium' | 'brass' | 'plastic';
}

/** One rule's finding. */
export interface RuleFinding {
  rule: 'shear' | 'thread' | 'head' | 'drive' | 'standard' | 'length' | 'strength' | 'finish' | 'metals';
  verdict: 'same' | 'allowed' | 'warned' | 'refused';
  reason: string;
}

/** Whether one fastener may stand in for another, and why. */
export interface SubstituteVerdict {
  wanted: string;
  offered: string;
  /** True if no rule refuses; warnings may still stand. */
  allowed: boolean;
  /** True if the two are equal in every point that is known. */
  exact: boolean;
  findings: RuleFinding[];
  /** The findings as sentences: refusals first, then warnings, then the rest. */
  reasons: string[];
}

/**
 * Judges `offered` in place of `wanted` under stated rules (common practice, no source):
 * - a part made to break: exact equal only, nothing unknown, and never a stronger one;
 * - the same thread (size, pitch, hand, starts), and head of the same function;
 * - the same product standard, or none said on one side (warned);
 * - a length within the stated grip, or equal where none is stated;
 * - a grade equal or higher; an unknown grade on offer cannot stand in for a known one;
 * - a finish at least as good against rust where the joint is exposed;
 * - metals that corrode one another are allowed only with a warning.
 * Every rule reports, so that each refusal is known at once.
 */
export function judgeSubstitute(wanted: Fastener, offered: Fastener, joint: Joint = {}): SubstituteVerdict {
  const findings =
    wanted.designedToFail || offered.designedToFail
      ? [shear(wanted, offered)]
      : [
          thread(wanted, offered),
          head(wanted, offered),
          drive(wanted, offered),
          standard(wanted, offered),
          length(wanted, offered, joint),
          strength(wanted, offered),
          finish(wanted, offered, joint.exposed ?? true),
          metals(offered, joint),
        ];
  const order = { refused: 0, warned: 1, allowed: 2, same: 3 };
  return {
    wanted: printDesignation(wanted),
    offered: printDesignation(offered),
    allowed: findings.every((f) => f.verdict !== 'refused'),
    exact: findings.every((f) => f.verdict === 'same'),
    findings,
    reasons: [...findings].sort((a, b) => order[a.verdict] - order[b.verdict]).map((f) => f.reason),
  };
}

/**
 * Judges every offer and orders them: allowed before refused, exact before near, fewer warnings before more, and then
 * the smaller step in length. Equal offers keep their order.
 */
export function rankSubstitutes<T extends { fastener: Fastener }>(
  wanted: Fastener,
  offers: readonly T[],
  joint: Joint = {},
): (T & { verdict: SubstituteVerdict })[] {
  const score = (offer: T & { verdict: SubstituteVerdict }) => [
    offer.verdict.allowed ? 0 : 1,
    offer.verdict.exact ? 0 : 1,
    offer.verdict.findings.filter((f) => f.verdict === 'refused').length,
    offer.verdict.findings.filter((f) => f.verdict === 'warned').length,
    offer.verdict.findings.filter((f) => f.verdict === 'allowed').length,
    Math.abs((offer.fastener.lengthMillimetres ?? 0) - (wanted.lengthMillimetres ?? 0)),
  ];
  return offers
    .map((offer) => ({ ...offer, verdict: judgeSubstitute(wanted, offer.fastener, joint) }))
    .map((offer) => ({ offer, score: score(offer) }))
    .sort((a, b) => a.score.map((s, k) => s - b.score[k]!).find((gap) => gap !== 0) ?? 0)
    .map(({ offer }) => offer);
}

function shear(wanted: Fastener, offered: Fastener): RuleFinding {
  const refuse = (reason: string): RuleFinding => ({ rule: 'shear', verdict: 'refused', reason });
  const reasons =
    'A shear part must break at its own load and no other: a stronger one passes the blow to the gearbox or ' +
    'the engine, a weaker one breaks in ordinary work';
  if (!wanted.designedToFail) return refuse(`${reasons}; a shear part cannot stand in for an ordinary fastener.`);
  const unknown = (['lengthMillimetres', 'grade', 'head'] as const).filter(
    (key) => wanted[key] === null || offered[key] === null,
  );
  if (!sameFastener(wanted, offered)) {
    return refuse(
      `${reasons}; only the exact equal will do, and ${printDesignation(offered)} is not ${printDesignation(wanted)}.`,
    );
  }
  if (unknown.length > 0) {
    const names = { lengthMillimetres: 'length', grade: 'grade', head: 'head' };
    return refuse(
      `${reasons}; ${unknown.map((key) => names[key]).join(', ')} not stated, so equality cannot be shown.`,
    );
  }
  return { rule: 'shear', verdict: 'same', reason: `${reasons}; this is the exact equal.` };
}

function sameFastener(a: Fastener, b: Fastener): boolean {
  return (
    sameThread(a.thread, b.thread) &&
    a.lengthMillimetres === b.lengthMillimetres &&
    a.designedToFail === b.designedToFail &&
    (['head', 'drive', 'grade', 'finish', 'standard'] as const).every((key) => a[key] === b[key])
  );
}

function thread(wanted: Fastener, offered: Fastener): RuleFinding {
  const rule = 'thread';
  const [w, o] = [wanted.thread, offered.thread];
  if (!sameThread(w, o)) {
    const near = w.system !== o.system ? '; inch and metric threads never mix, however near' : '';
    return { rule, verdict: 'refused', reason: `Thread ${printThread(o)} is not ${printThread(w)}${near}.` };
  }
  const looser = w.toleranceClass && o.toleranceClass && w.toleranceClass !== o.toleranceClass;
  return looser
    ? {
        rule,
        verdict: 'warned',
        reason: `Same thread, but class ${o.toleranceClass} for ${w.toleranceClass}: the fit differs.`,
      }
    : { rule, verdict: 'same', reason: `Same thread, ${printThread(w)}.` };
}

/** What a head does in the joint; heads of one function stand in for one another. */
const HEAD_FUNCTION: Readonly<Record<Head, string>> = {
  hex: 'is turned by a wrench and bears on a flat',
  heavyHex: 'is turned by a wrench and bears on a flat',
  hexFlange: 'is turned by a wrench and bears on a flat',
  square: 'is turned by a wrench and bears on a flat',
  carriage: 'locks itself in a square hole',
  pan: 'is turned from above and stands proud',
  round: 'is turned from above and stands proud',
  truss: 'is turned from above and stands proud',
  button: 'is turned from above and stands proud',
  socketCap: 'is turned by a key within a narrow space',
  flat: 'lies flush in a countersink',
  oval: 'lies flush in a countersink',
  setScrew: 'has no head',
  stud: 'is a rod',
  wing: 'is turned by hand',
  eye: 'is an eye',
  hexNut: 'is a plain nut',
  heavyHexNut: 'is a plain nut',
  squareNut: 'is a plain nut',
  flangeNut: 'is a plain nut',
  lockNut: 'locks itself on the thread',
  jamNut: 'is thin, to lock another nut',
  wingNut: 'is turned by hand, on a stud',
};

function head(wanted: Fastener, offered: Fastener): RuleFinding {
  const rule = 'head';
  const [w, o] = [wanted.head, offered.head];
  if (w === o && w !== null) return { rule, verdict: 'same', reason: `Same head, ${w}.` };
  if (isNut(w) !== isNut(o))
    return { rule, verdict: 'refused', reason: 'A nut and a bolt cannot stand in for each other.' };
  if (w === null || o === null)
    return { rule, verdict: 'warned', reason: 'A head is not stated; look before fitting it.' };
  if (w === 'hexNut' && o === 'lockNut') {
    return { rule, verdict: 'allowed', reason: 'A lock nut does all that a plain nut does.' };
  }
  if (HEAD_FUNCTION[w] !== HEAD_FUNCTION[o]) {
    return { rule, verdict: 'refused', reason: `Head ${o} ${HEAD_FUNCTION[o]}; ${w} ${HEAD_FUNCTION[w]}.` };
  }
  return {
    rule,
    verdict: 'warned',
    reason: `Head ${o} has the function of ${w}; check its width and the room for a tool.`,
  };
}

function drive(wanted: Fastener, offered: Fastener): RuleFinding {
  const same = wanted.drive === offered.drive;
  return {
    rule: 'drive',
    verdict: same ? 'same' : 'allowed',
    reason: same ? 'Same drive.' : 'Another drive: it takes another tool and holds the same.',
  };
}

function standard(wanted: Fastener, offered: Fastener): RuleFinding {
  const rule = 'standard';
  const [w, o] = [wanted.standard, offered.standard];
  if (w === o) return { rule, verdict: 'same', reason: w ? `Same standard, ${w}.` : 'No standard is asked for.' };
  if (w && o)
    return {
      rule,
      verdict: 'refused',
      reason: `Made to ${o}, not ${w}: head size and thread length differ by standard.`,
    };
  if (!w) return { rule, verdict: 'allowed', reason: `Made to ${o}; no standard is asked for.` };
  return {
    rule,
    verdict: 'warned',
    reason: `${w} is asked for and none is stated: measure across flats and thread length.`,
  };
}

function length(wanted: Fastener, offered: Fastener, { grip }: Joint): RuleFinding {
  const rule = 'length';
  const [w, o] = [wanted.lengthMillimetres, offered.lengthMillimetres];
  if (isNut(wanted.head) && isNut(offered.head)) return { rule, verdict: 'same', reason: 'Nuts have no length.' };
  if (o === null) return { rule, verdict: 'refused', reason: 'The length on offer is not stated.' };
  const text = (millimetres: number) => showLength(millimetres, wanted.thread.system);
  if (w !== null && Math.abs(w - o) < 0.01) return { rule, verdict: 'same', reason: `Same length, ${text(o)}.` };
  if (!grip) {
    return {
      rule,
      verdict: 'refused',
      reason:
        `Length ${text(o)} is not ${w === null ? 'known to fit' : text(w)}, and no grip range ` +
        'is stated within which another would do.',
    };
  }
  if (o < grip.fromMillimetres || o > grip.toMillimetres) {
    return {
      rule,
      verdict: 'refused',
      reason:
        `Length ${text(o)} lies outside the grip range ${text(grip.fromMillimetres)} to ` +
        `${text(grip.toMillimetres)}.`,
    };
  }
  return {
    rule,
    verdict: 'allowed',
    reason:
      `Length ${text(o)} lies within the grip range ${text(grip.fromMillimetres)} to ` + `${text(grip.toMillimetres)}.`,
  };
}

const NUT_CLASSES: readonly Grade[] = ['class 8', 'class 10'];

function strength(wanted: Fastener, offered: Fastener): RuleFinding {
  const rule = 'strength';
  const [w, o] = [wanted.grade, offered.grade];
  if (w === o)
    return { rule, verdict: w ? 'same' : 'warned', reason: w ? `Same grade, ${w}.` : 'No grade is stated on either.' };
  if (w === null) return { rule, verdict: 'warned', reason: `No grade is asked for; ${o} is on offer.` };
  if (o === null) return { rule, verdict: 'refused', reason: `Grade unknown; ${w} is asked for.` };
  const [strong, weak] = [strengthOf(o, offered.thread), strengthOf(w, wanted.thread)];
  const higher =
    strong && weak
      ? strong.proofMegapascals >= weak.proofMegapascals && strong.tensileMegapascals >= weak.tensileMegapascals
      : NUT_CLASSES.includes(w) && NUT_CLASSES.includes(o)
        ? NUT_CLASSES.indexOf(o) > NUT_CLASSES.indexOf(w)
        : null;
  if (higher === null) {
    return { rule, verdict: 'refused', reason: `${o} and ${w} cannot be compared with the strengths held here.` };
  }
  return higher
    ? {
        rule,
        verdict: 'allowed',
        reason: `${o} is stronger than ${w}; tighten to the torque for ${w}, which the joint was made for.`,
      }
    : { rule, verdict: 'refused', reason: `${o} is weaker than ${w}.` };
}

/** How long a finish keeps rust off, roughly and in order; common practice, no source. */
const RUST_ORDER: readonly Finish[] = [
  'plain',
  'blackOxide',
  'phosphate',
  'nickel',
  'chrome',
  'zinc',
  'yellowZinc',
  'hotDipGalvanised',
];

/** Metals that need no finish to stay free of rust. */
const RUSTLESS: readonly (Grade | null)[] = ['stainless', 'A2-70', 'A4-70', 'brass', 'aluminium', 'nylon'];

function finish(wanted: Fastener, offered: Fastener, exposed: boolean): RuleFinding {
  const rule = 'finish';
  const rank = ({ finish: f, grade }: Fastener) =>
    RUSTLESS.includes(grade) ? RUST_ORDER.length : f === null ? null : RUST_ORDER.indexOf(f);
  const [w, o] = [rank(wanted), rank(offered)];
  if (wanted.finish === offered.finish && (w === o || w === null))
    return { rule, verdict: 'same', reason: 'Same finish.' };
  if (!exposed) return { rule, verdict: 'allowed', reason: 'The joint stays dry, so the finish is free.' };
  if (o === null) {
    return w === null || w === 0
      ? { rule, verdict: 'allowed', reason: 'No protection from rust is asked for.' }
      : {
          rule,
          verdict: 'warned',
          reason: `Finish unknown; ${wanted.finish ?? wanted.grade} is asked for and the joint is exposed.`,
        };
  }
  if (w === null || o >= w) {
    return {
      rule,
      verdict: 'allowed',
      reason:
        `${offered.finish ?? offered.grade} keeps rust off at least as long as ` +
        `${wanted.finish ?? wanted.grade ?? 'what is asked for'}.`,
    };
  }
  return {
    rule,
    verdict: 'refused',
    reason:
      `${offered.finish ?? offered.grade} rusts sooner than ${wanted.finish ?? wanted.grade}, ` +
      'and the joint is exposed.',
  };
}

function metals(offered: Fastener, joint: Joint): RuleFinding {
  const rule = 'metals';
  const into = joint.material ?? 'steel';
  const of = metalOf(offered.grade);
  const safe = of === into || of === 'nylon' || into === 'plastic';
  if (safe) return { rule, verdict: 'same', reason: `${of} in ${into}: nothing to corrode the other.` };
  if (of === 'steel' && into === 'aluminium' && isZinc(offered.finish)) {
    return {
      rule,
      verdict: 'warned',
      reason: 'Zinc-plated steel in aluminium: tolerable, but grease it; the zinc goes first.',
    };
  }
  return {
    rule,
    verdict: 'warned',
    reason:
      `${of} in ${into}: mixed metals corrode one another where salt water reaches; ` +
      'insulate or grease, and look again next year.',
  };
}

function metalOf(grade: Grade | null): string {
  if (grade === 'A2-70' || grade === 'A4-70' || grade === 'stainless') return 'stainless';
  return grade === 'brass' || grade === 'aluminium' || grade === 'nylon' ? grade : 'steel';
}

function isZinc(finish: Finish | null): boolean {
  return finish === 'zinc' || finish === 'yellowZinc' || finish === 'hotDipGalvanised';
}
