/** The maintenance list follows the machine. What is expected is common practice, no source, but for what is said beside it. */
import { describe, expect, it } from '@jest/globals';
import { engineTypeOf } from '../../machines/engine-type.js';
import { type MaintainedMachine, maintenanceFor } from './maintenance.js';

const machine = (over: Partial<MaintainedMachine> = {}): MaintainedMachine => ({
  kind: 'singleStageThrower',
  engineType: 'fourStroke',
  equipment: [],
  partsFitted: [],
  ...over,
});
const titles = (over: Partial<MaintainedMachine>) => maintenanceFor(machine(over)).map((one) => one.title);
const part = (name: string, over: Partial<MaintainedMachine['partsFitted'][number]> = {}) => ({
  name,
  fastener: null,
  designedToFail: false,
  quantity: 1,
  ...over,
});

describe('the engine', () => {
  it('a two-stroke has no oil to change, but fuel to mix; a four-stroke the other way round', () => {
    for (const kind of ['singleStageThrower', 'twoStageThrower', 'walkBehindMower', 'other']) {
      const two = titles({ kind, engineType: 'twoStroke' });
      const four = titles({ kind, engineType: 'fourStroke' });
      expect(two.filter((title) => /oil/i.test(title) && title !== 'Fuel and oil mix')).toEqual([]);
      expect(two).toContain('Fuel and oil mix');
      expect(four).toEqual(expect.arrayContaining(['Engine oil level', 'First oil change', 'Engine oil']));
      expect(four).not.toContain('Fuel and oil mix');
    }
  });
  it('an electric machine has neither fuel nor plug, and one that is not known has both ways said', () => {
    const electric = titles({ engineType: 'electric' });
    expect(electric).toContain('Cord, plug and battery');
    expect(electric).not.toEqual(expect.arrayContaining(['Fuel']));
    expect(electric.some((title) => /oil|Spark/.test(title))).toBe(false);
    const unknown = maintenanceFor(machine({ engineType: null }));
    expect(unknown.find((one) => one.title === 'Engine oil')!.text).toContain('a two-stroke has its oil in the fuel');
  });
  it('is read from the words for it where no type is on record; an electric starter makes no electric machine', () => {
    const typeOf = (engine: string | null) => engineTypeOf({ engineType: null, engine });
    expect(typeOf('141 cc two-stroke')).toBe('twoStroke');
    expect(typeOf('2-cycle, pull start')).toBe('twoStroke');
    expect(typeOf('208 cc OHV, electric start')).toBe('fourStroke');
    expect(typeOf('cordless, 40 V')).toBe('electric');
    expect(typeOf('305 cc, electric start')).toBeNull();
    expect(typeOf(null)).toBeNull();
    expect(engineTypeOf({ engineType: 'fourStroke', engine: '2-stroke, says the ad' })).toBe('fourStroke');
  });
});

describe('equipment and parts', () => {
  it('what is fitted is looked after, what was removed or is missing is not', () => {
    const equipment = (status: string) => [{ name: 'Electric starter', status }];
    expect(titles({ equipment: equipment('fitted') })).toContain('Electric starter');
    expect(titles({ equipment: equipment('removed') })).not.toContain('Electric starter');
    expect(titles({ equipment: equipment('missing') })).not.toContain('Electric starter');
  });
  it('names a part where it is looked after, as it was fitted', () => {
    const list = maintenanceFor(
      machine({
        partsFitted: [
          part('Paddle set, universal', { quantity: 2 }),
          part('Housing bolt', { fastener: '5/16-18 x 1 hex, grade 8', quantity: 6 }),
          part('Auger belt'),
        ],
      }),
    );
    const fitted = Object.fromEntries(list.map((one) => [one.title, one.fitted]));
    expect(fitted['Paddles and scraper bar']).toEqual(['2 × Paddle set, universal']);
    expect(fitted['Fasteners']).toEqual(['6 × Housing bolt (5/16-18 x 1 hex, grade 8)']);
    expect(fitted['Drive belt']).toEqual(['1 × Auger belt']);
    expect(fitted['New belt']).toEqual(['1 × Auger belt']);
    expect(fitted['Fuel']).toEqual([]);
    expect(titles({})).not.toContain('New belt');
  });
  it('a shear bolt stands under shear bolts and nowhere else', () => {
    const list = maintenanceFor(
      machine({
        kind: 'twoStageThrower',
        partsFitted: [part('Auger shear bolt', { fastener: '1/4-20 x 1-3/4 shear', designedToFail: true })],
      }),
    );
    expect(list.filter((one) => one.fitted.length > 0).map((one) => one.title)).toEqual(['Shear bolts']);
  });
});
