import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { fewValues, widening } from '../../src/analyses/few-values.ts';
import { loadHerd, loadHerdInParts, useHerd } from '../../src/analyses/load-herd.ts';
import { sheetDesk } from '../../src/app/sheet-desk.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { codedOf, codedTextColumn, rowsOf, type Table, type TextColumn } from '../../src/core/table.ts';
import { piecesOf } from '../../src/core/table-pieces.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { footRows } from '../../src/herd/foot-rows.ts';
import { CYCLE_ROW, FOOT_ROW } from '../../src/herd/herd-names.ts';
import { footRowTypes } from '../../src/herd/kept-types.ts';
import type { Amendment, Deed } from '../../src/sheet/amendment.ts';
import { NO_HORSES, visitTable } from '../herd-fixture.ts';

const NORTH = { hemisphere: 'north' } as const;
const CONTEXT = { signal: new AbortController().signal, progress: () => undefined };

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

/** Each text with its code, as files are read. */
function coded(table: Table): Table {
  const columns = Object.entries(table.columns).map(([name, column]) => {
    if (column.type !== 'text') return [name, column] as const;
    const { codes, levels } = codedOf(column as TextColumn);
    return [name, codedTextColumn(codes, levels)] as const;
  });
  return { rowCount: table.rowCount, columns: Object.fromEntries(columns) };
}

const visitsOf = (horse_id: string, practitioner_id: string): Table =>
  coded(
    visitTable(
      ['2026-01-05', '2026-02-16', '2026-03-30'].map((visit_date) => ({
        horse_id,
        visit_date,
        foot: 'RH',
        terrain: 'rocky',
        toe_before_mm: 90,
        toe_after_mm: 80,
        breed: 'Exmoor',
        client_id: "O'Hara",
        practitioner_id,
        marker_id: 'm1',
      })),
    ),
  );

async function typesOf(table: string): Promise<Record<string, string>> {
  const rows = rowsOf(await engine.query(`DESCRIBE ${table}`));
  return Object.fromEntries(
    rows.map((row) => [String(row.column_name), String(row.column_type).replace(/\(.*/, '')]),
  );
}

const amendment = (id: string, deed: Deed): Amendment => ({
  id,
  at: '2026-06-01T10:00:00Z',
  batch: id,
  by: null,
  reason: null,
  deed,
});
const change = (id: string, column: 'practitioner_id' | 'terrain', old: string, value: string): Amendment =>
  amendment(id, { kind: 'change', row: 'A|2026-02-16|RH', column, old, value });

const seen = async () => ({
  visits: rowsOf(
    await engine.query(
      'SELECT visit_date, practitioner_id, terrain, breed, source_file FROM foot_visit_all ORDER BY 1',
    ),
  ),
  cycles: rowsOf(
    await engine.query('SELECT visit_date, practitioner_id, terrain FROM trim_cycle_all ORDER BY 1'),
  ),
});

describe('a column of few values', () => {
  let desk: ReturnType<typeof sheetDesk>;
  beforeEach(async () => {
    await loadHerd(engine, { visits: visitsOf('A', 'Vet'), horses: NO_HORSES }, NORTH);
    desk = sheetDesk(engine, dayFromIso('2026-06-01') as CivilDay);
  });

  it('is kept as an enumeration, and is a text to everyone who reads it', async () => {
    for (const table of [FOOT_ROW, CYCLE_ROW]) {
      expect(await typesOf(table)).toMatchObject({
        practitioner_id: 'ENUM',
        client_id: 'ENUM',
        terrain: 'ENUM',
        source_file: 'ENUM',
        horse_id: 'VARCHAR',
      });
    }
    for (const view of ['foot_visit_all', 'visit_row', 'trim_cycle_all', 'foot_visit', 'trim_cycle', 'spell'])
      expect(Object.values(await typesOf(view)), view).not.toContain('ENUM');
  });

  it('becomes text with the first value that the files did not bring; an undo gives the old one back', async () => {
    const before = await seen();
    await desk.applyAmendments([change('1', 'practitioner_id', 'Vet', "d'Arcy")], CONTEXT);
    for (const table of [FOOT_ROW, CYCLE_ROW])
      expect(await typesOf(table)).toMatchObject({ practitioner_id: 'VARCHAR', client_id: 'ENUM' });
    const after = await seen();
    expect(after.visits.map((row) => row.practitioner_id)).toEqual(['Vet', "d'Arcy", 'Vet']);
    expect(after.cycles.map((row) => row.practitioner_id)).toEqual(['Vet', "d'Arcy"]);
    await desk.applyAmendments([amendment('2', { kind: 'undo', of: ['1'] })], CONTEXT);
    expect(await seen()).toEqual(before);
    await desk.applyAmendments([amendment('3', { kind: 'undo', of: ['2'] })], CONTEXT);
    expect(await seen()).toEqual(after);
  });

  it('stays one when a change brings a value that it has', async () => {
    await desk.applyAmendments([change('1', 'terrain', 'rocky', 'firm')], CONTEXT);
    expect(await typesOf(FOOT_ROW)).toMatchObject({ practitioner_id: 'ENUM', terrain: 'ENUM' });
    expect((await seen()).cycles.map((row) => row.terrain)).toEqual(['firm', 'rocky']);
  });

  it('takes in a row from another file, and all is as at first once the log is empty', async () => {
    const before = await seen();
    const added = {
      horse_id: 'B',
      visit_date: '2026-04-01',
      foot: 'LF',
      breed: 'Shire',
      marker_id: 'm2',
    } as const;
    const mends = { file: 'other.csv', line: 7, foot: 'LF' };
    const deed: Deed = { kind: 'add', row: 'B|2026-04-01|LF', values: added, mends };
    await desk.applyAmendments([amendment('1', deed)], CONTEXT);
    expect(await typesOf(FOOT_ROW)).toMatchObject({
      breed: 'VARCHAR',
      marker_id: 'VARCHAR',
      source_file: 'VARCHAR',
      practitioner_id: 'ENUM',
    });
    expect((await seen()).visits.at(-1)).toMatchObject({ breed: 'Shire', source_file: 'other.csv' });
    await desk.replaceAmendments([], CONTEXT);
    expect(await seen()).toEqual(before);
  });
});

it('a column of which a later piece brings other values is text, and loses none', async () => {
  const pieces = [visitsOf('A', 'Vet'), visitsOf('B', 'Rosa')].flatMap((visits) => [
    ...footRows(piecesOf(visits), NO_HORSES),
  ]);
  const few = fewValues(pieces[0]!);
  const coming = async function* (): AsyncGenerator<Table> {
    yield* pieces;
  };
  await useHerd(engine);
  await engine.fill('foot_row', widening(engine, few, coming()), footRowTypes(few));
  expect(await typesOf(FOOT_ROW)).toMatchObject({ practitioner_id: 'VARCHAR', terrain: 'ENUM' });
  const kept = await engine.query(
    `SELECT practitioner_id, count(*) AS n FROM ${FOOT_ROW} GROUP BY 1 ORDER BY 1`,
  );
  expect(rowsOf(kept)).toEqual([
    { practitioner_id: 'Rosa', n: 3 },
    { practitioner_id: 'Vet', n: 3 },
  ]);
});

it.each([
  [`a sign that ends SQL text`, 'V\0et'],
  ['half a surrogate pair', 'V\ud800et'],
])('a column with %s stays text', async (_, practitioner) => {
  await loadHerd(engine, { visits: visitsOf('A', practitioner), horses: NO_HORSES }, NORTH);
  expect(await typesOf(FOOT_ROW)).toMatchObject({ practitioner_id: 'VARCHAR', client_id: 'ENUM' });
  expect((await seen()).visits).toHaveLength(3);
});

it('a herd that comes in parts keeps texts, as a later part may bring any', async () => {
  const parts = [visitsOf('A', 'Vet'), visitsOf('B', 'Rosa')].map((visits) => ({
    visits,
    horses: NO_HORSES,
  }));
  await loadHerdInParts(engine, parts, NORTH);
  expect(await typesOf(FOOT_ROW)).toMatchObject({ practitioner_id: 'VARCHAR', terrain: 'ENUM' });
  expect((await seen()).visits.map((row) => row.practitioner_id).sort()).toEqual([
    ...['Rosa', 'Rosa', 'Rosa'],
    ...['Vet', 'Vet', 'Vet'],
  ]);
});
