import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type GrowthForecast, growthForecast } from '../../src/analyses/growth/forecast.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { numbers, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { studentMultiplier } from '../../src/stats/distributions.ts';
import { demoTables, openHerdOf, TODAY, tenHorses } from '../ten-horses.ts';
import { dayAfter, openHerd, type Row, trimmedFeet } from './run-analysis.ts';

const signal = new AbortController().signal;
const START = dayFromIso(dayAfter(0))!;

async function forecast(engine: Engine, asOf?: CivilDay): Promise<GrowthForecast> {
  const found = await growthForecast({ engine, signal }, asOf === undefined ? {} : { asOf });
  if (isUnavailable(found)) throw new Error(found.sentence);
  return found;
}

describe('a growth forecast by hand', () => {
  it('is the least-squares rate of one foot, with Student’s spread', async () => {
    const ahead = await forecast(await openHerd(trimmedFeet({ 'A LF': [8, 9, 10] }, { breed_type: 'pony' })));
    // Rate 27/3 = 9; residual variance (1 + 0 + 1)/2 = 1; error of the rate √(1/3). 60 days are two times 30.
    const { mm, sd, sdMeasured, sdRecorded, degrees } = ahead.foot('A LF')!.regrowth(START, 60);
    expect(mm).toBeCloseTo(18, 8);
    expect(sd).toBeCloseTo(2 * Math.sqrt(1 / 3), 8);
    expect(sdMeasured).toBeCloseTo(Math.sqrt(4 / 3 + 0.5), 8);
    expect(sdRecorded).toBeCloseTo(Math.sqrt(4 / 3 + 1), 8);
    expect(degrees).toBeCloseTo(2, 6);
    expect(ahead.rate('A LF')!.estimate).toBeCloseTo(9, 8);
    expect(ahead.nCyclesOf('A LF')).toBe(3);
    expect(ahead.isOwn('A LF')).toBe(true);
    expect(ahead.foot('B LF')).toBeNull();
    expect(ahead.counts).toEqual({ horses: 1, feet: 1, cycles: 3 });
  });

  it('gives a foot without a cycle its horse’s rate, and a horse without one the herd’s, with wider spreads', async () => {
    const seenOnce = ['A RF', 'D LF'].map((key): Row => {
      const [horse_id, foot] = key.split(' ') as [string, string];
      return { horse_id, foot, visit_date: dayAfter(0), toe_before_mm: 90, toe_after_mm: 80 };
    });
    const herd = trimmedFeet({
      'A LF': [10, 10.4, 9.6],
      'A LH': [9, 9.4, 8.6],
      'B LF': [7, 7.4, 6.6],
      'B RF': [8, 7.6, 8.4],
      'C LF': [9, 8.6, 9.4],
      'C RF': [9.4, 9.8, 9],
    });
    const ahead = await forecast(await openHerd([...herd, ...seenOnce]));
    const [own, ofHorse, ofHerd] = ['A LF', 'A RF', 'D LF'].map((key) => ahead.rate(key)!);
    expect(ahead.isOwn('A RF')).toBe(false);
    expect(ahead.nCyclesOf('D LF')).toBe(0);
    // Balanced, so the herd's mean is the plain one; a horse's lies between it and its own feet's 9.5.
    const mean = (10 + 9 + 7 + 8 + 9 + 9.4) / 6;
    expect(ofHerd!.estimate).toBeCloseTo(mean, 6);
    expect(ofHorse!.estimate).toBeGreaterThan(mean);
    expect(ofHorse!.estimate).toBeLessThan(9.5);
    expect(own!.stdError!).toBeLessThan(ofHorse!.stdError!);
    expect(ofHorse!.stdError!).toBeLessThan(ofHerd!.stdError!);
  });

  it('knows by a day only the cycles ended by then', async () => {
    const engine = await openHerd(trimmedFeet({ 'A LF': [8, 9, 10, 20] }));
    const ahead = await forecast(engine, dayFromIso(dayAfter(90))!);
    expect(ahead.rate('A LF')!.estimate).toBeCloseTo(9, 8);
    expect((await forecast(engine)).rate('A LF')!.estimate).toBeCloseTo(47 / 4, 8);
    const before = await growthForecast({ engine, signal }, { asOf: START });
    expect(before).toMatchObject({ unavailable: 'no-rows' });
  });

  it('is less sure where feet change ground, by what the change did to the rate', async () => {
    const grounds = (at: (i: number) => string): Row[] =>
      ['A LF', 'B LF', 'C LF'].flatMap((key, k) =>
        trimmedFeet({ [key]: [9, 7, 9.4, 6.6, 9.2, 6.8].map((mm) => mm + 0.3 * k) }).map((row, i) => ({
          ...row,
          terrain: at(i),
        })),
      );
    const told = async (at: (i: number) => string) => {
      const ahead = await forecast(await openHerd(grounds(at)));
      return { sd: ahead.foot('A LF')!.regrowth(START, 30).sd, held: ahead.rate('A LF')!.stdError! };
    };
    const still = await told(() => 'soft');
    expect(still.sd).toBeCloseTo(still.held, 10);
    // Soft and firm by turns: soft 9.2 on average, firm 6.8, so each change is one of 2.4.
    const moved = await told((i) => (i % 2 === 1 ? 'soft' : 'firm'));
    expect(moved.sd ** 2 - moved.held ** 2).toBeCloseTo(2.4 ** 2, 6);
  });

  it('moves with the season over the very days ahead', async () => {
    // 8 + 2·cos ω(t − start), read every 30 days for two years and more, rounded to a tenth.
    const omega = (2 * Math.PI) / 365.25;
    const wave = (from: number, to: number) =>
      (2 * (Math.sin(omega * to) - Math.sin(omega * from))) / omega / 30;
    const mm = Array.from({ length: 26 }, (_, i) => Math.round(10 * (8 + wave(30 * i, 30 * i + 30))) / 10);
    const ahead = await forecast(await openHerd(trimmedFeet({ 'A LF': mm, 'B LF': mm.map((x) => x + 0.1) })));
    const fast = ahead.foot('A LF')!.regrowth((START + 731 - 20) as CivilDay, 40).mm;
    const slow = ahead.foot('A LF')!.regrowth((START + 731 + 163) as CivilDay, 40).mm;
    expect(fast).toBeCloseTo((8 * 40) / 30 + wave(-20, 20), 0);
    expect(slow).toBeCloseTo((8 * 40) / 30 - wave(-20, 20), 0);
  });
});

describe('a growth forecast of the demo herd', () => {
  let engine: Engine;
  beforeAll(async () => {
    engine = await openHerdOf(await demoTables());
  }, 60_000);
  afterAll(() => engine.close());

  it('holds the next recorded regrowths about as often as it says', async () => {
    let [held, n] = [0, 0];
    for (const iso of ['2023-12-31', '2024-12-31', '2025-12-31']) {
      const asOf = dayFromIso(iso)!;
      const ahead = await forecast(engine, asOf);
      const next = await engine.query(
        `SELECT foot_key, visit_date, days, toe_regrowth_mm::DOUBLE AS mm FROM trim_cycle
         WHERE flag IS NULL AND toe_regrowth_mm IS NOT NULL AND visit_date >= DATE '${iso}'
         QUALIFY row_number() OVER (PARTITION BY foot_key ORDER BY visit_date) = 1
         ORDER BY foot_key`,
      );
      const [start, days, mm] = ['visit_date', 'days', 'mm'].map((name) => numbers(next, name));
      texts(next, 'foot_key').forEach((key, row) => {
        const told = ahead.foot(key!)!.regrowth(start![row] as CivilDay, days![row]!);
        const reach = studentMultiplier(told.degrees) * told.sdRecorded;
        if (Math.abs(mm![row]! - told.mm) <= reach) held += 1;
      });
      n += next.rowCount;
    }
    // 1,226 of 1,307 = 0.938: less than 0.95 where a foot has moved to other ground since.
    expect(n).toBeGreaterThan(1000);
    expect(held / n).toBeGreaterThan(0.9);
    expect(held / n).toBeLessThan(0.99);
  });
});

describe('a growth forecast of ten horses', () => {
  it('knows every foot and tells finite spreads', async () => {
    const engine = await openHerdOf(await tenHorses());
    const ahead = await forecast(engine);
    const keys = await engine.query('SELECT DISTINCT foot_key FROM foot_visit ORDER BY foot_key');
    for (const key of texts(keys, 'foot_key')) {
      const told = ahead.foot(key!)!.regrowth(TODAY, 42);
      expect(Object.values(told).every(Number.isFinite), key!).toBe(true);
      expect(told.sd).toBeGreaterThan(0);
    }
    expect(keys.rowCount).toBe(40);
    await engine.close();
  });
});
