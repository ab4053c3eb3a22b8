/** What each kind of machine is made of. */
import { ComponentTree } from '../../engine/diagnosis/index.js';
import { component, engineComponents, wheelsAndControls } from './make.js';
import { mower } from './mower.js';
import { singleStage, twoStage } from './throwers.js';

const trees: Record<string, ComponentTree> = {
  singleStageThrower: new ComponentTree(singleStage),
  twoStageThrower: new ComponentTree(twoStage),
  walkBehindMower: new ComponentTree(mower),
};
/** Of what has no kind of its own: an engine under a cover, wheels and handles. */
const anyMachine = new ComponentTree([
  ...engineComponents('cover'),
  component('drive', 'cover', 'Cover', { off: [5, 5], replace: [5, 10, 20] }),
  ...wheelsAndControls(),
]);

export const treeOf = (machineKind: string): ComponentTree => trees[machineKind] ?? anyMachine;
