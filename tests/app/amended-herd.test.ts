import fc from 'fast-check';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { sheetDesk } from '../../src/app/sheet-desk.ts';
import { type CivilDay, dayFromIso, isoFromDay } from '../../src/core/civil-day.ts';
import { makeTable, rowsOf, textColumn } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import type { DerivedSteps } from '../../src/herd/derived-steps.ts';
import { HERD } from '../../src/herd/herd-names.ts';
import { HORSE_FACTS } from '../../src/herd/horse-facts.ts';
import { rebuildSql } from '../../src/herd/relations.ts';
import type { Amendment, Deed } from '../../src/sheet/amendment.ts';
import type { DerivedColumn } from '../../src/sheet/derived-column.ts';
import { visitTable } from '../herd-fixture.ts';

const NORTH = { hemisphere: 'north' } as const;
const TODAY = dayFromIso('2026-06-01') as CivilDay;
const CONTEXT = { signal: new AbortController().signal, progress: () => undefined };
const FIRST = dayFromIso('2026-01-05') as CivilDay;
const DAYS = [0, 42, 84, 126];

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

const day = (k: number): string => isoFromDay(FIRST + DAYS[k]!);
const VISITS = ['A', 'B', 'C'].flatMap((horse_id, h) =>
  ['LF', 'RH'].flatMap((foot) =>
    [0, 1, 2].map((k) => ({
      horse_id,
      visit_date: day(k),
      foot,
      toe_before_mm: 85 + h + k,
      toe_after_mm: 80 + h,
      separation_grade: (h + k) % 3,
      breed: h === 0 ? null : 'Exmoor',
    })),
  ),
);
const KEYS = VISITS.map((visit) => `${visit.horse_id}|${visit.visit_date}|${visit.foot}`);

const COLUMNS: DerivedColumn[] = [
  { name: 'cut_mm', label: '', on: 'foot_visit', expression: 'toe_before_mm - toe_after_mm' },
  {
    name: 'since',
    label: '',
    on: 'foot_visit',
    expression: 'visit_date - lag(visit_date) OVER (PARTITION BY horse_id, foot ORDER BY visit_date)',
  },
  { name: 'cut_a_day', label: '', on: 'trim_cycle', expression: 'cut_mm / since' },
];
const DERIVED: DerivedSteps = {
  foot_visit: COLUMNS.slice(0, 2).map(({ name, expression }) => ({ name, expression, type: 'DOUBLE' })),
  trim_cycle: COLUMNS.slice(2).map(({ name, expression }) => ({ name, expression, type: 'DOUBLE' })),
};

async function load(): Promise<ReturnType<typeof sheetDesk>> {
  const horses = makeTable({ horse_id: textColumn(['A']), breed: textColumn(['Clydesdale']) });
  await loadHerd(engine, { visits: visitTable(VISITS), horses }, NORTH);
  const desk = sheetDesk(engine, TODAY);
  await desk.setDerivedColumns(COLUMNS, CONTEXT);
  return desk;
}

const all = async (except = '') => ({
  visits: rowsOf(await engine.query(`SELECT * ${except} FROM foot_visit_all ORDER BY row_key`)),
  cycles: rowsOf(await engine.query(`SELECT * ${except} FROM trim_cycle_all ORDER BY row_key`)),
});

/** Rows whose facts of the horse are not their own, else the horses file's, else the breed table's. */
const FACTS_THAT_DIFFER = `
  SELECT v.row_key FROM ${HERD}.visit_row v JOIN foot_visit_all f USING (row_no)
  LEFT JOIN ${HERD}.horse_row h ON h.horse_id = v.horse_id
  LEFT JOIN ${HERD}.breed_map b ON b.breed = coalesce(v.breed, h.breed)
  WHERE ${HORSE_FACTS.map((name) => {
    const type = name === 'breed_type' ? ', b.breed_type' : '';
    return `f.${name} IS DISTINCT FROM coalesce(v.${name}, h.${name}${type})`;
  }).join(' OR ')}`;

const key = fc.constantFrom(...KEYS);
const deed: fc.Arbitrary<Deed> = fc.oneof(
  fc.record({
    kind: fc.constant('change' as const),
    row: key,
    column: fc.constant('toe_before_mm' as const),
    // Some fit what is there, some do not.
    old: fc.integer({ min: 84, max: 90 }),
    value: fc.integer({ min: 84, max: 90 }),
  }),
  key.chain((row) =>
    fc.record({
      kind: fc.constant('change' as const),
      row: fc.constant(row),
      column: fc.constant('visit_date' as const),
      old: fc.constant(row.split('|')[1]!),
      value: fc.constantFrom(0, 1, 2, 3).map(day),
    }),
  ),
  key.chain((row) =>
    fc.record({
      kind: fc.constant('change' as const),
      row: fc.constant(row),
      column: fc.constant('horse_id' as const),
      old: fc.constant(row.split('|')[0]!),
      value: fc.constantFrom('A', 'B', 'D'),
    }),
  ),
  fc.record({ kind: fc.constant('strike' as const), row: key }),
  fc
    .record({
      horse_id: fc.constantFrom('A', 'D'),
      k: fc.constantFrom(2, 3),
      breed: fc.constantFrom('Shire', null),
    })
    .map(
      ({ horse_id, k, breed }): Deed => ({
        kind: 'add',
        row: `${horse_id}|${day(k)}|LF`,
        values: { horse_id, visit_date: day(k), foot: 'LF', toe_before_mm: 90, breed },
        mends: null,
      }),
    ),
);

/** Batches of deeds; a number stands for an undo of the amendment so many before it. */
const story = fc.array(
  fc.array(fc.oneof(deed, fc.integer({ min: 1, max: 4 })), { minLength: 1, maxLength: 4 }),
  {
    minLength: 1,
    maxLength: 5,
  },
);

function logOf(batches: readonly (readonly (Deed | number)[])[]): Amendment[][] {
  const ids: string[] = [];
  return batches.map((batch, b) =>
    batch.map((one, k) => {
      const id = `${b}.${k}`;
      const of = typeof one === 'number' ? ids.slice(-one, ids.length - one + 1) : [];
      ids.push(id);
      const what: Deed = typeof one === 'number' ? { kind: 'undo', of } : one;
      return { id, at: '2026-06-01T10:00:00Z', batch: String(b), by: null, reason: null, deed: what };
    }),
  );
}

/** A visit moved onto the day of one added before it: the added one came first, whichever is worked through first. */
const MOVED_ONTO_ADDED: Deed[][] = [
  [
    {
      kind: 'add',
      row: `A|${day(3)}|LF`,
      values: { horse_id: 'A', visit_date: day(3), foot: 'LF', toe_before_mm: 90, breed: 'Shire' },
      mends: null,
    },
    { kind: 'strike', row: `B|${day(2)}|LF` },
  ],
  [{ kind: 'change', row: `A|${day(0)}|LF`, column: 'visit_date', old: day(0), value: day(3) }],
];

test('amending piece by piece leaves what building the whole herd anew would, and what the log replayed would', async () => {
  await fc.assert(
    fc.asyncProperty(story, async (batches) => {
      const log = logOf(batches);
      const desk = await load();
      let last: Awaited<ReturnType<typeof desk.applyAmendments>> | null = null;
      for (const batch of log) last = await desk.applyAmendments(batch, CONTEXT);
      const piecewise = await all();
      for (const sql of rebuildSql(null, { ...NORTH, derived: DERIVED })) await engine.run(sql);
      expect(await all()).toEqual(piecewise);
      expect(rowsOf(await engine.query(FACTS_THAT_DIFFER))).toEqual([]);
      const unnumbered = await all('EXCLUDE (row_no)');
      const places = piecewise.visits.map((row) => `${row.horse_id} ${row.visit_date} ${row.foot}`);
      expect(new Set(places).size).toBe(places.length);

      const replayed = await load();
      const standing = await replayed.replaceAmendments(log.flat(), CONTEXT);
      expect(await all('EXCLUDE (row_no)')).toEqual(unnumbered);
      expect(standing.counts).toEqual(last?.counts);
      expect(standing.conflicts.map(({ amendment, reason }) => [amendment.id, reason]).sort()).toEqual(
        last?.conflicts.map(({ amendment, reason }) => [amendment.id, reason]).sort(),
      );
      await replayed.replaceAmendments([], CONTEXT);
      const untouched = await all('EXCLUDE (row_no)');
      await load();
      expect(untouched).toEqual(await all('EXCLUDE (row_no)'));
    }),
    // The same stories on every run: one that once failed would fail again.
    { numRuns: 8, seed: 1_202_411, examples: [[MOVED_ONTO_ADDED]] },
  );
}, 240_000);
