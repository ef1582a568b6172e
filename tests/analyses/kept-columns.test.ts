import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { AnalysisContext } from '../../src/analyses/analysis.ts';
import { made } from '../../src/analyses/apart.ts';
import { GROWING_OUT_KEYS } from '../../src/analyses/grow-out/options.ts';
import { standingFrom, standingSql } from '../../src/analyses/grow-out/standing.ts';
import { standingInHerd } from '../../src/analyses/grow-out/standing-herd.ts';
import { makeMemory } from '../../src/analyses/memory.ts';
import { setCohort } from '../../src/analyses/set-cohort.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { rowsOf, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { demoTables, openHerdOf } from '../ten-horses.ts';
import { runAnalysis } from './run-analysis.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openHerdOf(await demoTables());
});
afterAll(() => engine.close());

const FEW = "terrain <> 'soft' AND horse_id LIKE '%1'";
const signal = new AbortController().signal;
/** With columns of the whole herd kept from cohort to cohort, and fits made by whoever is free. */
function keeping(): Pick<AnalysisContext, 'remember' | 'rememberHerd' | 'apart'> {
  const memory = makeMemory();
  return {
    remember: memory.over(FEW).remember,
    rememberHerd: memory.over('').remember,
    apart: made(async () => undefined),
  };
}

describe('columns of the whole herd, narrowed to a cohort', () => {
  it.each([
    ['measurement', { within_days: 14, beyond: 3 }],
    ['grow-out', {}],
    ['protection-audit', {}],
    ['relief-audit', { site: 'any' }],
    ['one-horse', {}],
  ])('give the same answer of %s as the cohort’s own', async (name, options) => {
    await setCohort(engine, FEW);
    const narrowed = await runAnalysis(engine, name, options, keeping());
    expect(narrowed).toEqual(await runAnalysis(engine, name, options));
    expect(narrowed.tables.some(({ table }) => rowsOf(table).length > 0)).toBe(true);
  });
});

describe('what stands on the herd’s feet', () => {
  it('is what stands on each of its horses', async () => {
    await setCohort(engine, FEW);
    const day = dayFromIso('2025-12-31')! as CivilDay;
    const herd = await standingInHerd({ engine, signal, ...keeping() }, GROWING_OUT_KEYS, day, 1000);
    const horses = await engine.query('SELECT DISTINCT horse_id FROM foot_visit ORDER BY horse_id');
    const each = [];
    for (const problem of GROWING_OUT_KEYS) {
      for (const id of texts(horses, 'horse_id')) {
        each.push(...standingFrom(problem, await engine.query(standingSql(problem, id!, day, 1000))));
      }
    }
    expect(herd.length).toBeGreaterThan(3);
    expect(herd).toEqual(each);
  });
});
