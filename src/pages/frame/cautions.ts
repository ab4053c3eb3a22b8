/** The cautions in full, by their codes. */
import { Cautions } from '../../work/cautions.js';
import type { View } from './view.js';

export interface CautionText {
  code: string;
  title: string;
  text: string;
  standard: string | null;
}

export async function cautionTexts(view: View): Promise<(codes: readonly string[]) => CautionText[]> {
  const { cautions } = await view.read('cautions', Cautions);
  return (codes) => cautions.filter((caution) => codes.includes(caution.code));
}
