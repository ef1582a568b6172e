/**
 * The short form of `npm run soak`: herds that depart from an ordinary one in several ways at once. Each is asked one
 * analysis, all of them in turn; `tests/hard-cases/` asks all of them of each of its own.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ANALYSES } from '../../src/analyses/index.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { askHerd } from './herd-case.ts';

const HERDS = 60;
let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

it.each([0, 1, 2, 3, 4, 5])(
  `${HERDS / 6} of ${HERDS} herds: a result or a sentence: part %i`,
  async (part) => {
    const faults: string[] = [];
    let told = 0;
    for (let n = (part * HERDS) / 6; n < ((part + 1) * HERDS) / 6; n++) {
      const {
        departures,
        numbers,
        sentences,
        faults: found,
      } = await askHerd(engine, n, [ANALYSES[n % ANALYSES.length]?.name ?? '']);
      told += numbers + sentences;
      faults.push(...found.map((fault) => `herd ${n} (${departures.join(', ')}): ${fault}`));
    }
    expect(faults).toEqual([]);
    expect(told).toBe(HERDS / 6);
  },
);

describe('herds that once did harm', () => {
  it('two horses with 60 visits of wild lengths: the likelihood of a spread overflowed, and growth threw', async () => {
    const { departures, faults } = await askHerd(engine, 35, ['growth']);
    expect(departures).toEqual(['many visits', 'events in one group', 'measures anywhere']);
    expect(faults).toEqual([]);
  });

  it('changes of which more than half are alike: the others were told as infinitely far off', async () => {
    const { departures, faults } = await askHerd(engine, 46, ['measurement']);
    expect(departures).toEqual(['measures from lowest to highest', 'visits of long ago']);
    expect(faults).toEqual([]);
  });

  it('a spread whose search began where the sums overflow when it was tried again: growth threw', async () => {
    const { departures, faults } = await askHerd(engine, 291, ['growth']);
    expect(departures).toEqual(['events at every other visit', 'yes or no throughout', 'visits up to today']);
    expect(faults).toEqual([]);
  });

  it('a ratio that nothing bounds from above: its interval ended at infinity', async () => {
    const { departures, faults } = await askHerd(engine, 568, ['entry-points']);
    expect(departures).toEqual(['measures anywhere', 'levels unknown']);
    expect(faults).toEqual([]);
  });
});
