/** Which of several machines to buy, and what to do with those that are here: the best choice over common futures. Pure. */
import { at } from '../../engine/look-up.js';
import { difference, mean, selectSubset } from '../../engine/selection/index.js';
import type { Report } from '../../platform/workers/worker-task.js';
import { type Choice, type ChoiceOutcome, Scorer, UNCHANGED } from '../value/scorer.js';
import { answerOf, type ChoiceFigures, type ChoiceOption } from './choice-answer.js';
import { ChoiceSearch, type ChooseQuestion, CLEAR } from './choice-search.js';
import { shareOf } from './shares.js';

const OPTIONS_TOLD = 6;

export interface ChooseAnswer extends ChoiceFigures {
  choice: Choice;
  best: ChoiceOption;
  options: ChoiceOption[];
  setsScored: number;
  setsRuledOut: number;
  exhaustive: boolean;
  futures: number;
}

export function choose(question: ChooseQuestion, report: Report = () => {}): ChooseAnswer {
  const scorer = new Scorer(question);
  const { candidateIds } = question;
  const { first, race, told } = question.sizes;
  const search = new ChoiceSearch(scorer, question);
  const selection = selectSubset({
    count: candidateIds.length,
    maxGain: candidateIds.map((id) => scorer.maxGain(id, first)),
    isAllowed: (items) => search.isAllowed(items),
    isAcceptable: (items, futures) => search.isAcceptable(search.ofSet(items), futures),
    score: (items, from, to) => scorer.margins(search.ofSet(items), from, to),
    firstFutures: first,
    maxFutures: race,
    onProgress: (share) => report({ stage: 'comparing', share }),
  });
  // Told from futures that the search has not seen, so that luck it chose by is not told as gain.
  const outcomes = new Map<string, ChoiceOutcome>();
  const outcomeOf = (choice: Choice): ChoiceOutcome => {
    const key = keyOf(choice);
    let known = outcomes.get(key);
    if (!known) outcomes.set(key, (known = scorer.outcome(choice, race, race + told)));
    return known;
  };
  const sets = selection.contenders.slice(0, OPTIONS_TOLD).map((one) => search.ofSet(one.items));
  const options = new Map<string, Choice>([[keyOf(UNCHANGED), UNCHANGED]]);
  const add = (choice: Choice): void => void options.set(keyOf(choice), choice);
  for (const set of sets) add(set);
  // What is here may be better done otherwise, with the best set and with nothing bought.
  const roots = [search.ofSet(selection.best.items), search.ofSet([])];
  roots.forEach((root, k) => {
    report({ stage: 'arranging', share: k / roots.length });
    const arranged = search.arranged(question.changesJobs ? search.treated(root) : root);
    for (const choice of [arranged, withClearTreatments(arranged, outcomeOf), { ...arranged, treatments: {} }])
      add(choice);
  });
  report({ stage: 'simulating', share: 0 });
  const unchanged = outcomeOf(UNCHANGED);
  const ranked = [...options.values()]
    .map((choice, k) => {
      report({ stage: 'simulating', share: k / options.size });
      const { margin } = outcomeOf(choice);
      return {
        choice,
        margin: mean(margin),
        gain: difference(margin, unchanged.margin),
        probabilityWorse: shareOf(margin, (value, s) => value < at(unchanged.margin, s)),
      };
    })
    .filter(({ choice }) => choice === UNCHANGED || search.isAcceptable(choice, race))
    .sort((a, b) => b.margin - a.margin || a.choice.bought.length - b.choice.bought.length);
  const best = at(ranked, 0);
  return {
    ...answerOf(scorer, question, best, outcomeOf),
    choice: best.choice,
    best,
    options: ranked.slice(0, OPTIONS_TOLD + 2),
    setsScored: selection.scored,
    setsRuledOut: selection.ruledOut,
    exhaustive: selection.exhaustive,
    futures: told,
  };
}

/** The choice without the treatments that gain nothing clear in futures the search has not seen. */
function withClearTreatments(choice: Choice, outcomeOf: (choice: Choice) => ChoiceOutcome): Choice {
  let kept = choice;
  for (const id of Object.keys(choice.treatments)) {
    const { [id]: _, ...treatments } = kept.treatments;
    const without = { ...kept, treatments };
    const gain = difference(outcomeOf(kept).margin, outcomeOf(without).margin);
    if (gain.mean <= CLEAR * gain.standardError) kept = without;
  }
  return kept;
}

const keyOf = ({ bought, treatments, sequence }: Choice): string =>
  JSON.stringify([[...bought].sort(), Object.entries(treatments).sort(), sequence]);
