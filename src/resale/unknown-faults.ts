/** Faults that decide what a used machine is worth and that nobody sees from the kerb, with what tells before paying. Pure. */
export const hiddenFaultNames = ['engine', 'gearbox', 'housing'] as const;
export type HiddenFault = (typeof hiddenFaultNames)[number];

interface FaultPrior {
  check: string;
  /**
   * Probability that a machine bought used has it; what it adds in cash, as a share of what the machine brings
   * finished, and in minutes.
   */
  probability: number;
  cashShare: number;
  minutes: number;
  /** Components of findings that are this fault. */
  components: RegExp;
}

/** Judgement, no source; the shop's own jobs take their place as they come. */
export const hiddenFaults: Record<HiddenFault, FaultPrior> = {
  engine: {
    check: 'a compression test',
    probability: 0.2,
    cashShare: 0.25,
    minutes: 180,
    components: /engine|compression|piston|cylinder|valve|crank(case|shaft)/i,
  },
  gearbox: {
    check: 'turning the auger by hand and looking into the gearbox oil',
    probability: 0.15,
    cashShare: 0.18,
    minutes: 150,
    components: /gear/i,
  },
  housing: {
    check: 'probing the housing and the scraper line for rot',
    probability: 0.25,
    cashShare: 0.06,
    minutes: 240,
    components: /housing|chute|rust|rot\b/i,
  },
};

/** A seller who says that something is sound is right more often than not: the probability is halved. Judgement, no source. */
export const CLAIM_FACTOR = 0.5;

export const faultOf = (component: string): HiddenFault[] =>
  hiddenFaultNames.filter((fault) => hiddenFaults[fault].components.test(component));
