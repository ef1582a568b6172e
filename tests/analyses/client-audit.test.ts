import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { unfoundIntervals } from '../batch/read-results.ts';
import { demoTables, openHerdOf, tenHorses } from '../ten-horses.ts';
import {
  dayAfter,
  estimateOf,
  expectSound,
  openHerd,
  type Row,
  rowsWith,
  runAnalysis,
  tableOf,
} from './run-analysis.ts';

/** A client's horses, one foot each, clear at the first of two visits; the first `cases` have it at the second. */
function client(client_id: string, horses: number, cases: number, extra: Row = {}): Row[] {
  return Array.from({ length: horses }, (_, i) => i).flatMap((i) =>
    [0, 1].map((visit) => ({
      horse_id: `${client_id}${i}`,
      client_id,
      foot: 'LF',
      visit_date: dayAfter(42 * visit),
      separation_grade: visit === 1 && i < cases ? 1 : 0,
      ...extra,
    })),
  );
}

const PLAIN = { adjust: [], spread: 'none' } as const;
const sentences = (result: { findings: readonly { sentence: string }[] }): string =>
  result.findings.map(({ sentence }) => sentence).join(' ');

describe('clients, observed and expected', () => {
  it('expects of each what the others had', async () => {
    const engine = await openHerd([...client('A', 40, 24), ...client('B', 80, 16), ...client('C', 40, 8)]);
    const result = await runAnalysis(engine, 'client-audit', PLAIN);
    // Without A: 24 of 120, so 8 of 40. Without B: 32 of 80, so 32 of 80. Without C: 40 of 120, so 13.333 of 40.
    const of = (name: string) => rowsWith(result, 'clients', { client: name })[0]!;
    expect([of('A').observed, of('B').observed]).toEqual([24, 16]);
    expect(of('A').expected).toBeCloseTo(8, 8);
    expect(of('B').expected).toBeCloseTo(32, 8);
    expect(of('C').expected).toBeCloseTo(40 / 3, 8);
    expect(of('A').estimate).toBeCloseTo(3, 8);
    expect(of('A').coverage).toBeCloseTo(0.25, 12);
    expect(rowsOf(tableOf(result, 'clients').table).map((row) => row.client)).toEqual(['A', 'B', 'C']);
    await expectSound(engine, result);
  });

  it('allows for ground only where asked, and takes the yard’s ground as its own otherwise', async () => {
    const wet = { terrain: 'soft' };
    const dry = { terrain: 'firm' };
    const engine = await openHerd([
      ...client('A', 40, 20, wet),
      ...client('B', 40, 20, wet),
      ...client('C', 80, 8, dry),
      ...client('D', 80, 8, dry),
    ]);
    const asked = { adjust: ['terrain'], spread: 'none' };
    const held = await runAnalysis(engine, 'client-audit', asked);
    // Soft: 20 of 40 elsewhere; firm: 8 of 80.
    expect(estimateOf(held, 'new cases, observed over expected', 'A').estimate).toBeCloseTo(1, 6);
    expect(estimateOf(held, 'new cases, observed over expected', 'C').estimate).toBeCloseTo(1, 6);
    const own = await runAnalysis(engine, 'client-audit', { ...asked, ground: 'own' });
    // Without A: 36 of 200, so 7.2 of 40.
    expect(estimateOf(own, 'new cases, observed over expected', 'A').estimate).toBeCloseTo(20 / 7.2, 6);
    expect(sentences(held)).toContain('At 4 of 4 clients');
    await expectSound(engine, held);
    await expectSound(engine, own);
  });

  it('says too few to tell below four horses, and counts cycles that nobody else is like', async () => {
    const engine = await openHerd([
      ...client('A', 20, 6, { terrain: 'soft' }),
      ...client('B', 20, 6, { terrain: 'soft' }),
      ...client('B', 5, 2, { terrain: 'rocky', foot: 'RF' }),
      ...client('S', 3, 2, { terrain: 'soft' }),
    ]);
    const result = await runAnalysis(engine, 'client-audit', { adjust: ['terrain'], client: 'S' });
    expect(rowsWith(result, 'small', { client: 'S' })[0]).toMatchObject({
      observed: 2,
      why: 'fewer than four horses',
      n_horses: 3,
    });
    expect(rowsWith(result, 'clients', { client: 'B' })[0]).toMatchObject({ observed: 6, unmatched: 5 });
    expect(sentences(result)).toContain('S: 2 new cases of separation seen on 3 horses; too few to tell');
    await expectSound(engine, result);
  });

  it('says so where there is nobody to compare with', async () => {
    for (const herd of [[], client('A', 5, 2), client('A', 1, 0)]) {
      const engine = await openHerd(herd);
      const result = await runAnalysis(engine, 'client-audit');
      expect(result.findings).toEqual([]);
      expect(result.unavailable.length).toBeGreaterThan(0);
      await expectSound(engine, result);
    }
  });
});

describe('client-audit on whole herds', () => {
  let demo: Engine;
  beforeAll(async () => {
    demo = await openHerdOf(await demoTables());
  }, 60_000);
  afterAll(() => demo.close());

  it('says of the demo herd nothing that its tables do not hold, and keeps clients in order of name', async () => {
    const result = await runAnalysis(demo, 'client-audit', { client: 'Ouzelford', weeks: 6 });
    await expectSound(demo, result);
    const names = rowsOf(tableOf(result, 'clients').table).map((row) => String(row.client));
    expect(names).toEqual([...names].sort());
    expect(names.length).toBeGreaterThan(10);
    const rows = rowsOf(tableOf(result, 'estimates').table).map((row) =>
      Object.fromEntries(
        Object.entries(row).map(([name, cell]) => [name, cell === null ? '' : String(cell)]),
      ),
    );
    expect(unfoundIntervals(sentences(result).replace(/\u00a0/g, ' '), rows)).toEqual([]);
    // Sooner visits: a smaller risk at each, by a herd whose risk climbs with the days to the power 1.6.
    const change = estimateOf(
      result,
      'chance that a clear foot has it at the next visit',
      'Ouzelford, change',
    );
    expect(change.conf_high).toBeLessThan(0);
    expect(sentences(result)).toContain('The foot in front of you decides');
  }, 30_000);

  it('reckons visits for horses seen in the last half year, not for those long gone', async () => {
    const graded =
      "flag IS NULL AND client_id = 'Dapplemere' AND separation_start IS NOT NULL AND separation_end IS NOT NULL";
    const counted = await demo.query(
      `SELECT count(DISTINCT horse_id) AS horses, count(DISTINCT horse_id) FILTER (WHERE next_date >=
         (SELECT max(next_date) FROM trim_cycle) - 183) AS lately FROM trim_cycle WHERE ${graded}`,
    );
    const [{ horses, lately }] = rowsOf(counted) as [{ horses: number; lately: number }];
    expect(lately).toBeLessThan(horses);
    const result = await runAnalysis(demo, 'client-audit', { client: 'Dapplemere', weeks: 6 });
    const planned = estimateOf(result, 'visits to its horses a year', 'Dapplemere, every 6.0 weeks');
    expect(planned.estimate).toBeCloseTo((lately * 365.25) / 42, 8);
    expect(sentences(result)).toContain(`to its ${lately} horses seen in the last half year`);
  }, 30_000);

  it('has a sentence for ten horses, and no ratio', async () => {
    const engine = await openHerdOf(await tenHorses());
    const result = await runAnalysis(engine, 'client-audit');
    expect(rowsOf(tableOf(result, 'clients').table)).toEqual([]);
    expect(sentences(result)).toContain('No client has records enough');
    await expectSound(engine, result);
    await engine.close();
  }, 30_000);
});
