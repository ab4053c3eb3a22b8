import { expect, it } from '@jest/globals';
import { Busy, TooMany } from '../errors.js';
import { Turns } from './turns.js';

const settled = () => new Promise(setImmediate);

/** Works that end when told to, and in which order they began. */
function workerTasks(turns: Turns) {
  const began: string[] = [];
  const ends = new Map<string, () => void>();
  const outcomes = new Map<string, Promise<unknown>>();
  const start = (asker: string | null, name: string) => {
    const outcome = turns.run(asker, async () => {
      began.push(name);
      await new Promise<void>((resolve) => ends.set(name, resolve));
      return name;
    });
    outcome.catch(() => {});
    outcomes.set(name, outcome);
    return outcome;
  };
  const end = async (name: string) => {
    await settled();
    ends.get(name)!();
    await outcomes.get(name);
    await settled();
  };
  return { began, start, end };
}

const settings = { places: 3, share: 2, waiting: 2, patienceMilliseconds: 60_000 };

it('gives one asker its share, whoever else asks a place, and those who wait their turns in rotation', async () => {
  const { began, start, end } = workerTasks(new Turns(settings));
  for (const name of ['a1', 'a2', 'a3', 'a4']) void start('a', name);
  await settled();
  expect(began).toEqual(['a1', 'a2']);
  void start('b', 'b1');
  void start('b', 'b2');
  void start('c', 'c1');
  await settled();
  expect(began).toEqual(['a1', 'a2', 'b1']);
  await end('a1');
  await settled();
  expect(began.at(-1)).toBe('a3');
  await end('b1');
  await settled();
  expect(began.at(-1)).toBe('b2');
  await end('a2');
  await settled();
  expect(began.at(-1)).toBe('c1');
  for (const name of ['a3', 'b2', 'c1']) await end(name);
  await settled();
  expect(began.at(-1)).toBe('a4');
  await end('a4');
});

it('refuses an asker that has too much waiting, and no other', async () => {
  const { start } = workerTasks(new Turns(settings));
  for (const name of ['a1', 'a2', 'a3', 'a4']) void start('a', name);
  await expect(start('a', 'a5')).rejects.toThrow(TooMany);
  void start('b', 'b1');
  await expect(Promise.race([start('b', 'b2'), Promise.resolve('waits')])).resolves.toBe('waits');
});

it('gives up what has waited too long, and goes on after a work that failed', async () => {
  const turns = new Turns({ ...settings, share: 1, patienceMilliseconds: 20 });
  const { began, start, end } = workerTasks(turns);
  void start('a', 'a1');
  await expect(start('a', 'a2')).rejects.toThrow(Busy);
  await end('a1');
  await expect(turns.run('a', () => Promise.reject(new Error('failed')))).rejects.toThrow('failed');
  void start('a', 'a3');
  await settled();
  expect(began).toEqual(['a1', 'a3']);
  await end('a3');
});

it('takes no place for the service itself', async () => {
  const { began, start } = workerTasks(new Turns({ ...settings, places: 1, share: 1 }));
  void start('a', 'a1');
  void start(null, 'own');
  await settled();
  expect(began).toEqual(['own', 'a1']);
});
