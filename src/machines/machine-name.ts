/** What a machine is called: by maker and model, and while these are not known by what tells it from others. */

export const kindWords: Record<string, string> = {
  singleStageThrower: 'single-stage snow thrower',
  twoStageThrower: 'two-stage snow thrower',
  walkBehindMower: 'walk-behind mower',
  other: 'machine',
};

export interface NamedMachine {
  kind: string;
  maker: string | null;
  model: string | null;
  description: string | null;
}

/**
 * @returns `Norvane Drift 21`; `Norvane, model not known`; `rusty red (two-stage snow thrower, maker not known)` where only
 *   its description is known; `two-stage snow thrower, maker not known` where nothing is
 */
export function machineName({ kind, maker, model, description }: NamedMachine): string {
  if (maker && model) return `${maker} ${model}`;
  if (maker) return `${maker}${description ? ` ${description}` : ''}, model not known`;
  const what = kindWords[kind] ?? kind;
  if (model) return `${model} (${what}, maker not known)`;
  return description ? `${description} (${what}, maker not known)` : `${what}, maker not known`;
}
