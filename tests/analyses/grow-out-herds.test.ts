import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import { analysisNamed } from '../../src/analyses/index.ts';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { countIntervals, unfoundCounts, unfoundIntervals } from '../batch/read-results.ts';
import { demoTables, openHerdOf, TODAY, tenHorses } from '../ten-horses.ts';
import { estimateOf, expectSound, rowsWith, tableOf } from './run-analysis.ts';

function grownOut(engine: Engine, options: object = {}): Promise<AnalysisResult> {
  const analysis = analysisNamed('grow-out');
  return analysis.run(analysis.options.parse(options), {
    engine,
    today: TODAY,
    lengths: 'mm',
    signal: new AbortController().signal,
    progress: () => undefined,
  });
}

describe('grow-out of the demo herd', () => {
  let engine: Engine;
  let result: AnalysisResult;
  beforeAll(async () => {
    engine = await openHerdOf(await demoTables());
    result = await grownOut(engine);
  }, 60_000);
  afterAll(() => engine.close());

  it('is sound, every range in order and no earlier than its visit', async () => {
    await expectSound(engine, result);
    const rows = rowsWith(result, 'projections', {});
    expect(rows.length).toBeGreaterThan(60);
    for (const row of rows) {
      const [seen, from, middle, to] = ['seen_on', 'date_from', 'date_estimate', 'date_to'].map(
        (name) => row[name] as number,
      );
      expect(from!).toBeGreaterThanOrEqual(seen!);
      expect(middle!).toBeGreaterThanOrEqual(from!);
      expect(to!).toBeGreaterThanOrEqual(middle!);
      // Readings of half a millimetre and rates of 5 to 14 mm in 30 days.
      expect(row.estimate as number).toBeGreaterThan(((row.distance_mm as number) / 14) * 30 - 1);
      expect(row.estimate as number).toBeLessThan(((row.distance_mm as number) / 5) * 30 + 1);
    }
  });

  it('says nothing that its tables do not hold', () => {
    const said = result.findings.map(({ sentence }) => sentence.replace(/[\u00a0\u202f]/g, ' ')).join('\n');
    const rows = result.tables.flatMap(({ table }) =>
      rowsOf(table).map((row) =>
        Object.fromEntries(
          Object.entries(row).map(([name, cell]) => [name, cell === null ? '' : String(cell)]),
        ),
      ),
    );
    expect(countIntervals(said)).toBeGreaterThan(3);
    expect(unfoundIntervals(said, rows)).toEqual([]);
    expect(unfoundCounts(said, rows)).toEqual([]);
  });

  it('does not hide that its separations clear otherwise than by growing down', () => {
    const apart = estimateOf(result, 'seen clear less projected', 'separation, by the next visit');
    expect(apart.conf_high as number).toBeLessThan(-0.4);
    expect(result.findings.map(({ sentence }) => sentence).join(' ')).toContain(
      'They lasted longer than growth alone would have it, so take a date as the earliest to hope for.',
    );
  });

  it('renews toes at the rates that made the herd', () => {
    // Gross 9.0 to 9.7 mm in 30 days, donkeys 7.6 (data/truth.json), over the toe’s own length.
    const gross = { draft: 9.7, warmblood: 9.3, light: 9, pony: 9.1, donkey: 7.6 };
    for (const [level, rate] of Object.entries(gross)) {
      const [row] = rowsWith(result, 'renewal', { level, basis: 'growth and wear' });
      const true_ = ((row!.toe_mm as number) / rate) * (30 / 30.4375);
      // Marked horses are few, and each has a rate of its own.
      expect(Math.abs((row!.estimate as number) / true_ - 1), level).toBeLessThan(0.06);
      const [slow] = rowsWith(result, 'renewal', { level, basis: 'net growth alone' });
      expect(slow!.estimate as number).toBeGreaterThan(row!.estimate as number);
    }
  });
});

describe('grow-out of ten horses', () => {
  it('gives dates, and a sentence where a year is too short to look back', async () => {
    const engine = await openHerdOf(await tenHorses());
    const result = await grownOut(engine);
    await expectSound(engine, result);
    expect(tableOf(result, 'projections').table.rowCount).toBeGreaterThan(0);
    expect(tableOf(result, 'calibration').table.rowCount).toBe(0);
    expect(result.unavailable.map(({ sentence }) => sentence).join(' ')).toContain(
      'How well past projections held cannot be told',
    );
    await engine.close();
  });
});
