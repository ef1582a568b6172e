import { afterAll, beforeAll, expect, it } from 'vitest';
import { rowsOf, type Table } from '../../src/core/table.ts';
import { piecesOf } from '../../src/core/table-pieces.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { footRows } from '../../src/herd/foot-rows.ts';
import { admit } from '../intake/admit.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

const HORSES = `horse_id,breed,birth_year,sex,body_mass_kg,client_id
Ann,Shire,2010,mare,700,Ouzel
Bob,pony cross,,gelding,,
Dun,Unheard of,2001,,410.5,`;

/** Without codes: every value looked at. */
function plain({ rowCount, columns }: Table): Table {
  return {
    rowCount,
    columns: Object.fromEntries(
      Object.entries(columns).map(([name, { type, values }]) => [name, { type, values }]),
    ) as Table['columns'],
  };
}

const row = (horse: string, k: number, more: string): string =>
  ['LF', 'RF', 'LH', 'RH'].map((foot) => `${horse},2026-0${k + 1}-05,${foot},9${k},${more}`).join('\n');

// Some rows state a fact themselves, all do, or none does.
it.each([
  ['none', '', () => ''],
  ['a client each', ',client_id', () => ',Own'],
  ['some a client and a breed', ',client_id,breed', (k: number) => (k % 2 ? ',Own,' : ',,Arab')],
  ['some a type and a mass', ',breed_type,body_mass_kg', (k: number) => (k % 2 ? ',pony,' : ',,300')],
])('fills in the facts of the horse by code as it does row by row: %s', async (_, header, more) => {
  const visits = ['Ann', 'Bob', 'Cob', 'Dun']
    .flatMap((horse) => [0, 1, 2].map((k) => row(horse, k, `${k},${k % 2 ? 'true' : 'false'}${more(k)}`)))
    .join('\n');
  const read = await admit([
    {
      name: 'visits.csv',
      text: `horse_id,visit_date,foot,toe_before_mm,crack_grade,wall_broken${header}\n${visits}`,
    },
    { name: 'horses.csv', text: HORSES },
  ]);
  expect(read.visits.rowCount).toBe(48);
  const [byCode] = footRows(read.visits, read.horses);
  const [rowByRow] = footRows(piecesOf(plain(read.admitted)), plain(read.horses));
  const expected = rowsOf(rowByRow as Table);
  expect(rowsOf(byCode as Table)).toEqual(expected);
  await engine.fill('taken', [byCode as Table]);
  expect(rowsOf(await engine.query('SELECT * FROM taken ORDER BY row_no'))).toEqual(expected);
  expect(new Set(expected.map(({ breed }) => breed)).size).toBeGreaterThan(2);
});
