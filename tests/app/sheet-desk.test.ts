import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { analysisNamed } from '../../src/analyses/index.ts';
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { setCohort } from '../../src/analyses/set-cohort.ts';
import { sheetDesk } from '../../src/app/sheet-desk.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { makeTable, rowsOf, textColumn, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import type { Amendment, Deed } from '../../src/sheet/amendment.ts';
import type { SheetView } from '../../src/sheet/view.ts';
import { visitTable } from '../herd-fixture.ts';

const TODAY = dayFromIso('2026-06-01') as CivilDay;
const CONTEXT = { signal: new AbortController().signal, progress: () => undefined };
const ALL: SheetView = { filters: [], sort: null, wholeHerd: true };

let engine: Engine;
let desk: ReturnType<typeof sheetDesk>;
beforeAll(async () => {
  engine = await openNodeEngine();
  desk = sheetDesk(engine, TODAY);
});
afterAll(() => engine.close());

const visit = (horse_id: string, visit_date: string, foot: string, toe_before_mm: number, more = {}) => ({
  horse_id,
  visit_date,
  foot,
  toe_before_mm,
  toe_after_mm: toe_before_mm - 8,
  separation_grade: 0,
  ...more,
});

beforeEach(async () => {
  await loadHerd(
    engine,
    {
      visits: visitTable([
        visit('B', '2026-03-09', 'LF', 90, { terrain: 'soft', breed: 'Exmoor' }),
        visit('A', '2026-03-09', 'LF', 88, { terrain: 'rocky' }),
        visit('A', '2026-03-09', 'RF', 89),
        visit('A', '2026-04-20', 'LF', 87, { terrain: 'soft', separation_grade: 2 }),
        visit('A', '2026-04-20', 'RF', 91),
      ]),
      horses: makeTable({ horse_id: textColumn(['A']), breed: textColumn(['Clydesdale']) }),
    },
    { hemisphere: 'north' },
  );
});

let made = 0;
const amend = (deed: Deed, batch = 'one'): Amendment => {
  made += 1;
  return { id: `m${made}`, at: '2026-06-01T10:00:00Z', batch, by: null, reason: null, deed };
};
const rows = async (view = ALL) => rowsOf(await desk.sheetRows({ view, offset: 0, limit: 50 }, CONTEXT));
const keys = async (view = ALL) =>
  texts(await desk.sheetRows({ view, offset: 0, limit: 50 }, CONTEXT), 'row_key');
const cell = async (row: string, column: string) =>
  (await rows()).find((one) => one.row_key === row)?.[column];

describe('rows of the sheet', () => {
  test('stand by horse, day and foot, each under its own name', async () => {
    expect(await keys()).toEqual([
      'A|2026-03-09|LF',
      'A|2026-03-09|RF',
      'A|2026-04-20|LF',
      'A|2026-04-20|RF',
      'B|2026-03-09|LF',
    ]);
    expect(await desk.sheetCount(ALL, CONTEXT)).toBe(5);
    expect(await cell('A|2026-03-09|LF', 'breed')).toBe('Clydesdale');
  });

  test('are sorted with what is missing last either way, levels in their own order', async () => {
    const by = (descending: boolean): SheetView => ({ ...ALL, sort: { column: 'terrain', descending } });
    expect((await rows(by(false))).map((row) => row.terrain)).toEqual(['soft', 'soft', 'rocky', null, null]);
    expect((await rows(by(true))).map((row) => row.terrain)).toEqual(['rocky', 'soft', 'soft', null, null]);
  });

  test.each([
    [{ column: 'toe_before_mm', test: 'at least', value: '3 1/2 in' }, 3],
    [{ column: 'toe_before_mm', test: 'is', value: '8.8 cm' }, 1],
    [{ column: 'horse_id', test: 'is', value: 'a' }, 4],
    [{ column: 'foot', test: 'is', value: 'near fore' }, 3],
    [{ column: 'terrain', test: 'missing', value: null }, 2],
    [{ column: 'visit_date', test: 'at most', value: '2026-03-31' }, 3],
    [{ column: 'breed', test: 'contains', value: 'XMO' }, 1],
    [{ column: 'terrain', test: 'is not', value: 'soft' }, 3],
  ] as const)('are filtered by %o', async (filter, count) => {
    expect(await desk.sheetCount({ ...ALL, filters: [filter] }, CONTEXT)).toBe(count);
  });

  test('say what a filter cannot read', async () => {
    const filters = [{ column: 'toe_before_mm', test: 'at least', value: 'long' }] as const;
    await expect(desk.sheetCount({ ...ALL, filters }, CONTEXT)).rejects.toThrow('not a length: long');
  });

  test('are those of the cohort unless the whole herd is asked for', async () => {
    await setCohort(engine, "horse_id = 'B'");
    expect(await keys({ ...ALL, wholeHerd: false })).toEqual(['B|2026-03-09|LF']);
    expect(await desk.sheetCount(ALL, CONTEXT)).toBe(5);
  });

  test('are found by name in a view', async () => {
    const view: SheetView = { ...ALL, sort: { column: 'toe_before_mm', descending: true } };
    expect(await desk.sheetPlace({ view, row: 'A|2026-04-20|RF' }, CONTEXT)).toBe(0);
    expect(await desk.sheetPlace({ view, row: 'A|1999-01-01|RF' }, CONTEXT)).toBeNull();
  });
});

describe('amendments', () => {
  const change = (
    row: string,
    column: 'toe_before_mm' | 'visit_date',
    old: number | string,
    value: number | string,
  ) => amend({ kind: 'change', row, column, old, value });

  test('change a cell, and an undo gives it back', async () => {
    const one = change('A|2026-03-09|LF', 'toe_before_mm', 88, 86.5);
    const { counts, conflicts } = await desk.applyAmendments([one], CONTEXT);
    expect(conflicts).toEqual([]);
    expect(counts).toMatchObject({ horses: 2, footVisits: 5, cycles: 2 });
    expect(await cell('A|2026-03-09|LF', 'toe_before_mm')).toBe(86.5);
    const undo = amend({ kind: 'undo', of: [one.id] });
    await desk.applyAmendments([undo], CONTEXT);
    expect(await cell('A|2026-03-09|LF', 'toe_before_mm')).toBe(88);
    await desk.applyAmendments([amend({ kind: 'undo', of: [undo.id] })], CONTEXT);
    expect(await cell('A|2026-03-09|LF', 'toe_before_mm')).toBe(86.5);
  });

  test('reach the trim cycles, the sort and the filters', async () => {
    const view: SheetView = { ...ALL, sort: { column: 'toe_before_mm', descending: false } };
    expect((await keys(view))[0]).toBe('A|2026-04-20|LF');
    await desk.applyAmendments([change('A|2026-04-20|RF', 'toe_before_mm', 91, 60)], CONTEXT);
    expect((await keys(view))[0]).toBe('A|2026-04-20|RF');
    const cycles = rowsOf(
      await engine.query("SELECT toe_regrowth_mm FROM trim_cycle WHERE foot = 'RF' ORDER BY visit_date"),
    );
    expect(cycles).toEqual([{ toe_regrowth_mm: 60 - 81 }]);
  });

  test('add a visit, strike one, move one', async () => {
    await desk.applyAmendments(
      [
        amend({
          kind: 'add',
          row: 'B|2026-05-01|LF',
          values: { horse_id: 'B', visit_date: '2026-05-01', foot: 'LF', toe_before_mm: 92, breed: 'Shire' },
          mends: null,
        }),
        amend({ kind: 'strike', row: 'A|2026-03-09|RF' }),
        change('A|2026-03-09|LF', 'visit_date', '2026-03-09', '2026-03-16'),
      ],
      CONTEXT,
    );
    const all = await rows();
    expect(all.map((row) => row.row_key)).toEqual([
      'A|2026-03-09|LF',
      'A|2026-04-20|LF',
      'A|2026-04-20|RF',
      'B|2026-03-09|LF',
      'B|2026-05-01|LF',
    ]);
    expect(all.at(-1)).toMatchObject({ breed_type: 'draft' });
    const cycles = rowsOf(await engine.query('SELECT row_key, days FROM trim_cycle ORDER BY 1'));
    expect(cycles).toEqual([
      { row_key: 'A|2026-03-09|LF', days: 35 },
      { row_key: 'B|2026-03-09|LF', days: 53 },
    ]);
  });

  test('never give a foot two rows on a day: an undo that would is a conflict', async () => {
    const move = change('A|2026-03-09|LF', 'visit_date', '2026-03-09', '2026-03-16');
    const add = amend({
      kind: 'add',
      row: 'A|2026-03-09|LF 2',
      values: { horse_id: 'A', visit_date: '2026-03-09', foot: 'LF', toe_before_mm: 80 },
      mends: null,
    });
    await desk.applyAmendments([move], CONTEXT);
    expect((await desk.applyAmendments([add], CONTEXT)).conflicts).toEqual([]);
    const { conflicts } = await desk.applyAmendments([amend({ kind: 'undo', of: [move.id] })], CONTEXT);
    expect(conflicts).toEqual([{ amendment: add, reason: 'row is there already', found: null }]);
    expect(await cell('A|2026-03-09|LF', 'toe_before_mm')).toBe(88);
    expect(await desk.sheetCount(ALL, CONTEXT)).toBe(5);
  });

  test('over a newer export: what fits counts, what does not is a conflict', async () => {
    const log = [
      change('A|2026-03-09|LF', 'toe_before_mm', 88, 86),
      change('A|2026-04-20|LF', 'toe_before_mm', 70, 71),
      change('Z|2026-04-20|LF', 'toe_before_mm', 70, 71),
    ];
    const { conflicts } = await desk.replaceAmendments(log, CONTEXT);
    expect(conflicts.map(({ reason, found }) => [reason, found])).toEqual([
      ['value has changed', 87],
      ['row is gone', null],
    ]);
    expect(await cell('A|2026-03-09|LF', 'toe_before_mm')).toBe(86);
    expect(await cell('A|2026-04-20|LF', 'toe_before_mm')).toBe(87);
    await desk.replaceAmendments([], CONTEXT);
    expect(await cell('A|2026-03-09|LF', 'toe_before_mm')).toBe(88);
  });
});

describe('typed cells', () => {
  const judge = (row: string, column: string, text: string) => ({ row, column, text });

  test('are read as intake reads them, each bad one told alone', async () => {
    const judged = await desk.judgeCells(
      [
        judge('A|2026-03-09|LF', 'toe_before_mm', '3 1/4 in'),
        judge('A|2026-03-09|RF', 'toe_before_mm', 'long'),
        judge('A|2026-04-20|LF', 'terrain', 'stony'),
        judge('A|2026-04-20|RF', 'toe_after_mm', '99'),
        judge('A|2026-04-20|RF', 'separation_grade', '++'),
        judge('B|2026-03-09|LF', 'visit_date', '3/4/2026'),
      ],
      CONTEXT,
    );
    expect(judged.map((one) => (one.ok ? one.value : one.reason))).toEqual([
      82.55,
      'not a length: long',
      expect.anything(),
      'the toe is 8 mm longer after the trim (99 mm) than before (91 mm): the two may be swapped',
      2,
      'could be day-first or month-first: 3/4/2026',
    ]);
    expect(judged[0]).toMatchObject({ ok: true, old: 88, shown: '82.6' });
  });

  test('may not put a foot twice on a day, nor leave out whose it is', async () => {
    const judged = await desk.judgeCells(
      [
        judge('A|2026-03-09|LF', 'visit_date', '2026-04-20'),
        judge('A|2026-03-09|RF', 'horse_id', ''),
        judge('A|2026-04-20|LF', 'breed', ''),
      ],
      CONTEXT,
    );
    expect(judged.map((one) => one.ok)).toEqual([false, false, false]);
    expect(judged.map((one) => (one.ok ? '' : one.reason))).toEqual([
      'there is a row for this horse’s LF on 2026-04-20 already',
      'horse is missing',
      expect.stringContaining('Clydesdale'),
    ]);
  });

  test('may change places with one another', async () => {
    const judged = await desk.judgeCells(
      [
        judge('A|2026-03-09|LF', 'visit_date', '2026-04-20'),
        judge('A|2026-04-20|LF', 'visit_date', '2026-03-09'),
      ],
      CONTEXT,
    );
    expect(judged.every((one) => one.ok)).toBe(true);
  });

  test('make new rows that take over what is known of the horse', async () => {
    const [good, twice, bad] = await desk.judgeRows(
      [
        { cells: { horse_id: 'B', visit_date: '2026-05-01', foot: 'off hind', toe_before_mm: '8,9 cm' } },
        { cells: { horse_id: 'B', visit_date: '2026-03-09', foot: 'LF' } },
        { cells: { horse_id: 'B', visit_date: '2031-03-09', separation_grade: '7' } },
      ],
      CONTEXT,
    );
    expect(good).toEqual({
      ok: true,
      row: 'B|2026-05-01|RH',
      values: {
        horse_id: 'B',
        visit_date: '2026-05-01',
        foot: 'RH',
        toe_before_mm: 89,
        breed: 'Exmoor',
        breed_type: 'pony',
      },
    });
    expect(twice).toMatchObject({ ok: false, faults: [{ column: 'visit_date' }] });
    expect(bad).toMatchObject({
      ok: false,
      faults: [
        { column: 'visit_date', reason: 'in the future: 2031-03-09' },
        { column: 'separation_grade', reason: 'no such grade: 7' },
        { column: 'foot', reason: 'foot is missing' },
      ],
    });
  });

  test('are offered the values recorded last, foot by foot', async () => {
    const last = await desk.lastValues('A', CONTEXT);
    expect(Object.keys(last)).toEqual(['LF', 'RF']);
    expect(last.LF).toMatchObject({ toe_before_mm: 87, terrain: 'soft', separation_grade: 2 });
  });
});

describe('derived columns', () => {
  const column = (name: string, expression: string, on: 'foot_visit' | 'trim_cycle' = 'foot_visit') => ({
    name,
    label: name,
    expression,
    on,
  });

  test('stand in the sheet, the cohort, and the cycle that begins with the visit', async () => {
    await desk.setDerivedColumns(
      [
        column('cut_class', "CASE WHEN cut_mm > 7 THEN 'much' ELSE 'little' END"),
        column('cut_mm', 'toe_before_mm - toe_after_mm'),
        column(
          'days_since',
          'visit_date - lag(visit_date) OVER (PARTITION BY horse_id, foot ORDER BY visit_date)',
        ),
        column('per_day', 'toe_regrowth_mm / days', 'trim_cycle'),
      ],
      CONTEXT,
    );
    expect((await desk.sheetColumns(null, CONTEXT)).slice(-3).map(({ name }) => name)).toEqual([
      'cut_mm',
      'cut_class',
      'days_since',
    ]);
    expect((await rows()).map((row) => [row.cut_mm, row.cut_class, row.days_since])).toEqual([
      [8, 'much', null],
      [8, 'much', null],
      [8, 'much', 42],
      [8, 'much', 42],
      [8, 'much', null],
    ]);
    await setCohort(engine, "cut_class = 'much' AND foot = 'LF'");
    const cycles = rowsOf(await engine.query('SELECT cut_class, per_day FROM trim_cycle ORDER BY row_key'));
    expect(cycles).toEqual([{ cut_class: 'much', per_day: (87 - 80) / 42 }]);
    const filters = [{ column: 'days_since', test: 'at least', value: '40' }] as const;
    expect(await desk.sheetCount({ ...ALL, filters }, CONTEXT)).toBe(2);
    await expect(desk.setDerivedColumns([], CONTEXT)).rejects.toThrow('the cohort uses a column');
    expect(await desk.sheetCount({ ...ALL, wholeHerd: false }, CONTEXT)).toBe(2 + 1);
  });

  test.each([
    ['toe_befor_mm / 2', 0, 'there is no column toe_befor_mm'],
    ['toe_before_mm +\n  nope', 18, 'there is no column nope'],
    ['(toe_before_mm /', 16, 'a ( has no )'],
    ['toe_before_mm /', 15, 'syntax error'],
    ['toe_before_mm, 2', 13, 'the comma begins a second one'],
    ['1) AS a, (2', 1, 'there is a ) without its ('],
    ['(SELECT 1)', 1, 'no query inside it'],
    ['(FROM foot_visit)', 1, 'no query inside it'],
    ['1; DROP TABLE visit_row', 1, 'one expression'],
    ['avg(toe_before_mm)', null, 'OVER'],
    ['roundd(toe_before_mm)', 0, 'there is no function roundd'],
    ['random()', 0, 'another value each time'],
    [
      `${'toe_before_mm + '.repeat(30)}nope + ${'toe_after_mm + '.repeat(30)}1`,
      480,
      'there is no column nope',
    ],
  ] as const)('%s is refused at its place', async (expression, offset, message) => {
    const fault = await desk.checkExpression(column('mine', expression), CONTEXT);
    expect(fault?.message).toContain(message);
    expect(fault?.offset).toBe(offset);
  });

  test('go round in no circle and bear a name that a query can use', async () => {
    const check = async (name: string, expression: string) =>
      (await desk.checkExpression(column(name, expression), CONTEXT))?.message;
    await desk.setDerivedColumns([column('first', 'toe_before_mm'), column('second', 'first + 1')], CONTEXT);
    expect(await check('first', 'second + 1')).toContain('circle');
    expect(await check('first', 'toe_after_mm')).toBeUndefined();
    expect(await check('toe_before_mm', '1')).toContain('already');
    expect(await check('order', '1')).toContain('another name');
    expect(await check('Toe ratio', '1')).toContain('small letters');
    expect(await check('part', 'toe_before_mm / 0')).toBeUndefined();
  });

  test('are worked out anew where an edit reaches, over other horses too', async () => {
    const far = 'rank() OVER (ORDER BY toe_before_mm)';
    await desk.setDerivedColumns(
      [column('place', far), column('cut_mm', 'toe_before_mm - toe_after_mm')],
      CONTEXT,
    );
    expect((await rows()).map((row) => row.place)).toEqual([2, 3, 1, 5, 4]);
    const deed = {
      kind: 'change',
      row: 'A|2026-04-20|RF',
      column: 'toe_before_mm',
      old: 91,
      value: 80,
    } as const;
    await desk.applyAmendments([amend(deed)], CONTEXT);
    expect((await rows()).map((row) => row.place)).toEqual([3, 4, 2, 1, 5]);
    expect(await cell('A|2026-04-20|RF', 'cut_mm')).toBe(80 - 83);
  });

  test('that fail on a row are refused, and all stays as it was', async () => {
    await desk.setDerivedColumns([column('cut_mm', 'toe_before_mm - toe_after_mm')], CONTEXT);
    await expect(desk.setDerivedColumns([column('bad', 'horse_id::INTEGER')], CONTEXT)).rejects.toThrow(
      'bad: ',
    );
    expect((await desk.sheetColumns(null, CONTEXT)).at(-1)?.name).toBe('cut_mm');
    expect(await cell('A|2026-04-20|RF', 'cut_mm')).toBe(8);
  });

  test('split an analysis, those of a visit in cycles and spells too', async () => {
    await desk.setDerivedColumns(
      [column('long_toe', 'toe_before_mm >= 89'), column('days_seen', 'day(visit_date)')],
      CONTEXT,
    );
    const run = (use: string, options: object) => {
      const analysis = analysisNamed(use);
      return analysis.run(analysis.options.parse(options), {
        engine,
        today: TODAY,
        lengths: 'mm',
        ...CONTEXT,
      });
    };
    const shares = await run('prevalence', { by: 'long_toe', at: 'every', problems: ['separation'] });
    expect(texts(shares.tables[0]!.table, 'level')).toEqual(['long toe: true']);
    // Of short toes only one horse is there.
    expect(shares.unavailable[0]?.sentence).toContain('long toe false:');
    expect((await run('recurrence', { by: 'long_toe' })).counts.horses).toBe(0);
    expect((await run('growth', { by: 'long_toe' })).counts.cycles).toBe(2);
    await expect(run('growth', { by: 'days_seen' })).rejects.toThrow('CASE makes classes');
    await expect(run('growth', { by: 'nothing_such' })).rejects.toThrow('or a derived column: nothing_such');
  });

  test('a division by nothing gives no number', async () => {
    await desk.setDerivedColumns([column('part', 'toe_before_mm / separation_grade')], CONTEXT);
    expect(await cell('A|2026-03-09|LF', 'part')).toBeNull();
    expect(await cell('A|2026-04-20|LF', 'part')).toBe(43.5);
  });
});

describe('summary of a column', () => {
  test('counts, misses, quartiles and bars of numbers', async () => {
    const summary = await desk.columnSummary({ view: ALL, column: 'toe_before_mm' }, CONTEXT);
    expect(summary).toMatchObject({ count: 5, missing: 0, distinct: 5, quantiles: [87, 88, 89, 90, 91] });
    expect(summary.histogram).toEqual({ from: 87, width: 1, counts: [1, 1, 1, 1, 1] });
  });

  test('the commonest of texts', async () => {
    const summary = await desk.columnSummary({ view: ALL, column: 'terrain' }, CONTEXT);
    expect(summary).toMatchObject({
      count: 3,
      missing: 2,
      distinct: 2,
      quantiles: null,
      top: [
        { value: 'soft', count: 2 },
        { value: 'rocky', count: 1 },
      ],
    });
  });
});
