/**
 * Every analysis on herds that cannot answer, or hardly: each ends in finite numbers or in a sentence, never in
 * something that is no number, and an interval holds its estimate.
 */
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { ANALYSES } from '../../src/analyses/index.ts';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import { setCohort } from '../../src/analyses/set-cohort.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { NO_HORSES } from '../herd-fixture.ts';
import { HARD_HERDS } from './herds.ts';
import { faults } from './result-faults.ts';

vi.setConfig({ testTimeout: 120_000 });
const TODAY = dayFromIso('2026-11-25') as CivilDay;
let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

/** Options that an analysis's schema takes, of those worth trying. */
const TRIED = [{}, { by: 'moisture' }];

function optionsOf(analysis: (typeof ANALYSES)[number]): Record<string, unknown>[] {
  const quick = analysis.options.safeParse({ replicates: 50 }).success ? { replicates: 50 } : {};
  return TRIED.filter((options) => analysis.options.safeParse(options).success).map((options) => ({
    ...options,
    ...quick,
  }));
}

async function faultsOfAll(): Promise<string[]> {
  await setToday(engine, TODAY);
  const found: string[] = [];
  for (const analysis of ANALYSES) {
    for (const options of optionsOf(analysis)) {
      const words = `${analysis.name} ${JSON.stringify(options)}`;
      const context = {
        engine,
        today: TODAY,
        lengths: 'mm' as const,
        signal: new AbortController().signal,
        progress: () => undefined,
      };
      try {
        const result = await analysis.run(analysis.options.parse(options), context);
        found.push(...faults(result).map((fault) => `${words}: ${fault}`));
      } catch (error) {
        found.push(`${words}: threw ${error}`);
      }
    }
  }
  return found;
}

describe('every analysis ends in finite numbers or a sentence', () => {
  it.each(Object.keys(HARD_HERDS))('%s', async (name) => {
    await loadHerd(engine, { visits: HARD_HERDS[name]!(), horses: NO_HORSES }, { hemisphere: 'north' });
    expect(await faultsOfAll()).toEqual([]);
  });

  it('a cohort that holds no horse', async () => {
    await loadHerd(
      engine,
      { visits: HARD_HERDS['an ordinary herd']!(), horses: NO_HORSES },
      { hemisphere: 'north' },
    );
    await setCohort(engine, "horse_id = 'nobody'");
    expect(await faultsOfAll()).toEqual([]);
  });
});

/** The result of one analysis, with the codes of what it refused. */
async function resultOf(herd: string, name: string, options: object = {}) {
  await loadHerd(engine, { visits: HARD_HERDS[herd]!(), horses: NO_HORSES }, { hemisphere: 'north' });
  await setToday(engine, TODAY);
  const analysis = ANALYSES.find((a) => a.name === name)!;
  const context = {
    engine,
    today: TODAY,
    lengths: 'mm' as const,
    signal: new AbortController().signal,
    progress: () => undefined,
  };
  const result = await analysis.run(analysis.options.parse(options), context);
  return {
    estimates: rowsOf(result.tables[0]!.table),
    reasons: result.unavailable.map(({ unavailable }) => unavailable),
  };
}

describe('where the record cannot answer there is a reason and no number', () => {
  it.each([
    ['one horse', 'recurrence', 'one-cluster'],
    ['one horse', 'onset-clearing', 'one-cluster'],
    ['one horse', 'interval-effect', 'one-cluster'],
    ['one horse', 'prevalence', 'one-cluster'],
    ['one horse with 10,000 rows', 'interval-effect', 'one-cluster'],
    ['one visit to each horse', 'growth', 'no-rows'],
    ['one visit to each horse', 'recurrence', 'no-rows'],
    ['one visit to each horse', 'onset-clearing', 'no-rows'],
    ['no growth at all', 'growth', 'one-level'],
    ['no events', 'recurrence', 'no-rows'],
    ['no events', 'onset-clearing', 'one-level'],
    ['no events', 'interval-effect', 'one-level'],
    ['all events', 'recurrence', 'no-rows'],
    ['all events', 'interval-effect', 'one-level'],
    ['one event', 'recurrence', 'no-events'],
    ['events at every other visit', 'interval-effect', 'all-events'],
    ['every cycle over a year', 'growth', 'no-rows'],
    ['nothing measured or graded', 'growth', 'no-rows'],
    ['nothing measured or graded', 'prevalence', 'no-rows'],
  ])('%s: %s, %s', async (herd, name, reason) => {
    const { estimates, reasons } = await resultOf(herd, name);
    expect(reasons).toContain(reason);
    expect(estimates.filter(({ estimate }) => estimate !== null)).toEqual([]);
  });

  it('all intervals equal: no exponent, and why', async () => {
    const { estimates, reasons } = await resultOf('all intervals equal', 'interval-effect');
    expect(reasons).toContain('equal-intervals');
    expect(estimates.filter(({ term }) => String(term).startsWith('exponent'))).toEqual([]);
    // The same herd with unlike intervals has one, so that the refusal is about the intervals.
    const ordinary = await resultOf('an ordinary herd', 'interval-effect', { adjust: [] });
    expect(
      ordinary.estimates.some(({ term, level }) => term === 'exponent of the interval' && level === 'crude'),
    ).toBe(true);
  });

  it('a level without events: no rate of onset for it, and no ratio against it', async () => {
    const { estimates } = await resultOf('a level without events', 'onset-clearing', {
      by: 'moisture',
      adjust: [],
    });
    const onsets = estimates.filter(({ term }) => term === 'onset').map(({ level }) => level);
    expect(onsets).toContain('moisture: wet');
    expect(onsets).not.toContain('moisture: dry');
    expect(
      estimates.filter(
        ({ term, level, conf_low }) =>
          /onset/.test(String(term)) && /dry/.test(String(level)) && conf_low !== null,
      ),
    ).toEqual([]);
  });

  it('a level of one horse has no clustered interval of its own', async () => {
    const { estimates } = await resultOf('a level of one horse', 'prevalence', { by: 'breed_type' });
    expect(estimates.some(({ level }) => level === 'light' || level === 'breed type: light')).toBe(true);
    expect(estimates.filter(({ level }) => /donkey/.test(String(level)))).toEqual([]);
  });

  it('none affected: the share starts at exactly 0, and may be more', async () => {
    const { estimates } = await resultOf('no events', 'prevalence');
    expect(estimates.length).toBe(5);
    for (const { estimate, conf_low, conf_high } of estimates) {
      expect([estimate, conf_low]).toEqual([0, 0]);
      // 15 horses without a case: the exact limit for as many independent animals is 0.218 (two-sided 95 %).
      expect(conf_high as number).toBeGreaterThan(0.15);
    }
  });

  it('one event: whatever is still given is given with an interval that says how little is known', async () => {
    const { estimates } = await resultOf('one event', 'interval-effect');
    for (const { term, estimate, conf_low, conf_high } of estimates) {
      if (!String(term).startsWith('exponent')) continue;
      expect(conf_low as number, `${term} ${estimate}`).toBeLessThan(1);
      expect(conf_high as number, `${term} ${estimate}`).toBeGreaterThan(1);
    }
    const rates = (await resultOf('one event', 'onset-clearing')).estimates.filter(
      ({ unit }) => unit === 'per foot-year',
    );
    for (const { term, conf_low, conf_high } of rates) {
      expect((conf_high as number) / (conf_low as number), String(term)).toBeGreaterThan(20);
    }
  });

  it('a spread at its boundary is 0 with a range, and the rest stands', async () => {
    const { estimates } = await resultOf('no difference between horses or feet', 'growth');
    const spread = estimates.find(({ term }) => term === 'spread between horses (SD)')!;
    expect([spread.estimate, spread.conf_low]).toEqual([0, 0]);
    expect(spread.conf_high as number).toBeGreaterThan(0);
    expect(estimates.find(({ term }) => term === 'toe growth')!.std_error as number).toBeGreaterThan(0);
  });
});
