import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import { makeMemory } from '../../src/analyses/memory.ts';
import { changingRows } from '../../src/app/changing-rows.ts';
import { pageDesk } from '../../src/app/page-desk.ts';
import { makeScenes, type Scene } from '../../src/app/scenes.ts';
import { sheetDesk } from '../../src/app/sheet-desk.ts';
import { type CivilDay, dayFromIso, isoFromDay } from '../../src/core/civil-day.ts';
import { makeTable, numbers, textColumn } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { makeQueue } from '../../src/engine/in-turn.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { visitTable } from '../herd-fixture.ts';

const TODAY = dayFromIso('2026-06-01') as CivilDay;
const CONTEXT = { signal: new AbortController().signal, progress: () => undefined };

let engine: Engine;
let pages: ReturnType<typeof pageDesk>;
let sheet: ReturnType<typeof sheetDesk>;
/** Every query since it was emptied. */
const queries: string[] = [];
const memory = makeMemory();
let version = 1;

beforeAll(async () => {
  const opened = await openNodeEngine();
  engine = {
    ...opened,
    query: (sql, signal) => {
      queries.push(sql);
      return opened.query(sql, signal);
    },
  };
  const scenes = makeScenes(engine);
  pages = pageDesk(engine, TODAY, scenes, memory);
  sheet = changingRows(memory, makeQueue(), sheetDesk(engine, TODAY, scenes.inHerd));
});

beforeEach(() =>
  memory.during(async () => {
    version += 1;
    const visits = ['A', 'B', 'C'].flatMap((horse_id) =>
      Array.from({ length: 8 }, (_, k) => ({
        horse_id,
        visit_date: isoFromDay((dayFromIso('2025-01-06')! + 42 * k) as CivilDay),
        foot: 'LF',
        breed_type: horse_id === 'C' ? 'pony' : 'draft',
        toe_before_mm: 90 + (k % 3),
        toe_after_mm: 80,
        separation_grade: 0,
      })),
    );
    const horses = makeTable({ horse_id: textColumn([]) });
    await loadHerd(engine, { visits: visitTable(visits), horses }, { hemisphere: 'north' });
    await setToday(engine, TODAY);
  }),
);
afterAll(() => engine.close());

const scene = (): Scene => ({ side: 'left', where: null, version, columns: [] });

/** Asks how many feet show separation; tells whether the rows were read for it. */
async function ask(lengths: 'mm' | 'in' = 'mm'): Promise<{ feet: number; affected: number; read: boolean }> {
  queries.length = 0;
  const options = { problems: ['separation'], at: 'every' };
  const result = await pages.runAnalysis(
    { scene: scene(), name: 'shares', use: 'prevalence', options, lengths },
    CONTEXT,
  );
  const { table } = result.tables[0]!;
  return {
    feet: result.counts.feet,
    affected: numbers(table, 'estimate')[0]!,
    read: queries.some((sql) => /separation_grade/.test(sql)),
  };
}

async function setCohort(where: string): Promise<void> {
  await pages.setCohort(where, CONTEXT);
  version += 1;
}

describe('answers that were given before', () => {
  it('are given again without reading a row, and stand in their tables', async () => {
    expect(await ask()).toMatchObject({ feet: 3, affected: 0, read: true });
    await pages.dropEntry({ scene: scene(), name: 'shares' }, CONTEXT);
    expect(await ask()).toMatchObject({ feet: 3, affected: 0, read: false });
    const sql = 'SELECT n_feet AS n FROM shares.estimates';
    const stands = await pages.runQuery({ scene: scene(), name: 'n', sql, params: {} }, CONTEXT);
    expect(numbers(stands, 'n')[0]).toBe(3);
  });

  it('are never those of another cohort, and come back when a cohort does', async () => {
    await ask();
    await setCohort("breed_type = 'draft'");
    expect(await ask()).toMatchObject({ feet: 2, read: true });
    await setCohort('TRUE');
    expect(await ask()).toMatchObject({ feet: 3, read: false });
  });

  it('are never those of before a cell was edited, nor of after the edit was undone', async () => {
    await ask();
    const amendment = {
      id: 'm1',
      at: '2026-06-01T10:00:00Z',
      batch: 'one',
      by: null,
      reason: null,
      deed: {
        kind: 'change',
        row: 'A|2025-10-27|LF',
        column: 'separation_grade',
        old: 0,
        value: 2,
      },
    } as const;
    await sheet.applyAmendments([amendment], CONTEXT);
    const edited = await ask();
    expect(edited.read).toBe(true);
    expect(edited.affected).toBeGreaterThan(0);
    await sheet.replaceAmendments([], CONTEXT);
    expect(await ask()).toMatchObject({ affected: 0, read: true });
  });

  it('are never those of before a derived column of the sheet was changed', async () => {
    const define = (expression: string) =>
      sheet.setDerivedColumns([{ name: 'size', label: 'Size', on: 'foot_visit', expression }], CONTEXT);
    const options = { problems: ['separation'], at: 'every', by: 'size' };
    const levels = async (): Promise<unknown> => {
      const run = { scene: scene(), name: 'shares', use: 'prevalence', options };
      const { tables } = await pages.runAnalysis(run, CONTEXT);
      return tables.flatMap(({ table }) => Object.values(table.columns.level?.values ?? [])).join(' ');
    };
    await define("CASE WHEN toe_after_mm > 0 THEN 'large' END");
    expect(await levels()).toContain('large');
    await define("CASE WHEN toe_after_mm > 0 THEN 'small' END");
    expect(await levels()).not.toContain('large');
  });
});
