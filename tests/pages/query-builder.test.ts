import { beforeAll, describe, expect, it } from 'vitest';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import type { CivilDay } from '../../src/core/civil-day.ts';
import { numbers, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { builderColumns, querySql } from '../../src/pages/query-builder.ts';
import { selectProblem } from '../../src/pages/sql-references.ts';
import { NO_HORSES, visitTable } from '../herd-fixture.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
  const visits = visitTable(
    [80, 90, 100, null].map((toe, k) => ({
      horse_id: k < 2 ? 'A' : 'B',
      visit_date: `2026-0${k + 1}-01`,
      foot: 'LF',
      breed_type: k < 3 ? 'draft' : 'pony',
      toe_after_mm: toe,
      notes: "it's",
    })),
  );
  await loadHerd(engine, { visits, horses: NO_HORSES }, { hemisphere: 'north' });
  await setToday(engine, 20_000 as CivilDay);
});

describe('querySql', () => {
  it('counts and gives the middle half by group, leaving out what is not recorded', async () => {
    const table = await engine.query(
      querySql({ relation: 'foot_visit', by: ['breed_type'], measure: 'toe_after_mm', conditions: [] }),
    );
    expect(texts(table, 'breed_type')).toEqual(['draft']);
    expect(
      ['n_horses', 'n_visits', 'middle', 'quarter_low', 'quarter_high'].map(
        (name) => numbers(table, name)[0],
      ),
    ).toEqual([2, 3, 90, 85, 95]);
  });

  it('narrows rows, with values never read as SQL', async () => {
    const where = (column: string, test: 'is' | 'at least' | 'is recorded', value: string) =>
      querySql({ relation: 'foot_visit', by: [], measure: null, conditions: [{ column, test, value }] });
    const n = async (sql: string) => numbers(await engine.query(sql), 'n_visits')[0];
    expect(await n(where('toe_after_mm', 'at least', '90'))).toBe(2);
    expect(await n(where('toe_after_mm', 'is recorded', ''))).toBe(3);
    expect(await n(where('notes', 'is', "it's"))).toBe(4);
    expect(await n(where('notes', 'is', "x' OR TRUE --"))).toBe(0);
    expect(where('breed_type', 'is', '$breed')).toContain('"breed_type" = $breed');
    expect(() => where('toe_after_mm', 'at least', 'long')).toThrow(
      'toe_after_mm must be compared with a number: long',
    );
  });

  it('binds on the real relations for every column that it offers', async () => {
    for (const relation of ['foot_visit', 'trim_cycle'] as const) {
      for (const { name, numeric } of builderColumns(relation)) {
        const sql = querySql({ relation, by: [name], measure: numeric ? name : null, conditions: [] });
        expect(selectProblem(sql)).toBeNull();
        await engine.check(sql);
      }
    }
  });
});
