import { makeTable, type Table, textColumn, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { literal } from '../engine/sql-text.ts';
import { FOOT_ROW } from '../herd/herd-names.ts';
import {
  asText,
  FEW_VALUES,
  type FewValues,
  footRowTypes,
  KEPT_VALUE,
  widenSql,
} from '../herd/kept-types.ts';

/** More are looked up more slowly than they are written out. */
const MOST_VALUES = 4_096;
/** What SQL text cannot carry as it is: the sign that ends it, half a surrogate pair. */
const UNWRITABLE = /[\0\ud800-\udfff]/u;

type Few = Map<FewValues, readonly string[]>;

/** Columns of foot rows whose few values are known, with them. */
export function fewValues(rows: Table): Few {
  const few: Few = new Map();
  for (const name of FEW_VALUES) {
    const values = listOf(rows, name);
    if (values && values.length > 0 && values.length <= MOST_VALUES && !values.some(isUnwritable))
      few.set(name, values);
  }
  return few;
}

const isUnwritable = (value: string): boolean => UNWRITABLE.test(value);

function listOf({ columns }: Table, name: string): readonly string[] | undefined {
  const column = columns[name];
  return column?.type === 'text' ? column.coded?.levels : undefined;
}

/** Pieces on their way into `foot_row`; a column of which one brings other values becomes text first, and leaves `few`. */
export async function* widening(
  engine: Engine,
  few: Few,
  pieces: AsyncIterable<Table>,
): AsyncGenerator<Table> {
  for await (const piece of pieces) {
    for (const [name, values] of few) {
      if (listOf(piece, name) === values) continue;
      few.delete(name);
      await engine.run(asText(FOOT_ROW, name));
    }
    yield piece;
  }
}

/** Puts down which values the enumerations have. */
async function writeFewValues(engine: Engine, few: Few): Promise<void> {
  const listed = [...few].flatMap(([name, values]) => values.map((value) => [name, value] as const));
  const name = textColumn(listed.map(([column]) => column));
  await engine.write(KEPT_VALUE, makeTable({ name, value: textColumn(listed.map(([, value]) => value)) }));
}

/**
 * Writes `foot_row`, with enumerations of the values found where these are all of the herd's rows: what further parts
 * will bring is not known while the first is written.
 */
export async function fillFootRow(
  engine: Engine,
  rows: AsyncGenerator<Table, void>,
  areAll: boolean,
): Promise<void> {
  const first = await rows.next();
  const few: Few = areAll && first.value ? fewValues(first.value) : new Map();
  const all = async function* (): AsyncGenerator<Table> {
    if (first.value) yield first.value;
    yield* rows;
  };
  await engine.fill('foot_row', widening(engine, few, all()), footRowTypes(few));
  await writeFewValues(engine, few);
}

/** Statements that make room for values of rows to be written: nothing where the enumerations have them all. */
export async function widenForSql(
  engine: Engine,
  rows: Iterable<Readonly<Record<string, unknown>>>,
): Promise<string[]> {
  const wanted = new Map<string, string>();
  for (const row of rows) {
    for (const name of FEW_VALUES) {
      const value = row[name];
      if (typeof value === 'string') wanted.set(`${name} ${value}`, `(${literal(name)}, ${literal(value)})`);
    }
  }
  if (wanted.size === 0) return [];
  const lacking = await engine.query(
    `SELECT DISTINCT name FROM (VALUES ${[...wanted.values()].join(', ')}) wanted(name, value)
     WHERE name IN (SELECT name FROM ${KEPT_VALUE})
       AND NOT EXISTS (SELECT 1 FROM ${KEPT_VALUE} k WHERE k.name = wanted.name AND k.value = wanted.value)
     ORDER BY name`,
  );
  return texts(lacking, 'name').flatMap((name) => widenSql(name as FewValues));
}
