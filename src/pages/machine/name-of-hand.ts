import { Person } from '../../shop/shop.shapes.js';
import type { View } from '../frame/view.js';

/** Who is at it: the person that the device belongs to, or the device's own name. */
export async function nameOfHand(view: View): Promise<string> {
  const { personId, name } = view.device;
  return personId ? (await view.read('person', Person, { id: personId })).name : name;
}
