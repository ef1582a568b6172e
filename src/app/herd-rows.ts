import { isoFromDay } from '../core/civil-day.ts';
import { cellAt, type Table, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { literal } from '../engine/sql-text.ts';
import { horseOfKey, ROW_IDENTITY, ROW_KEY, rowsNamedSql } from '../herd/foot-visit-sql.ts';
import { FOOT_ROW, HERD } from '../herd/herd-names.ts';
import type { RowKey, StoredValue } from '../sheet/amendment.ts';
import type { RowValues } from '../sheet/effect.ts';
import { RECORD_NAMES } from './sheet-columns.ts';

/** A list of SQL literals; of none, one that nothing equals. */
export function literals(values: Iterable<string>): string {
  const listed = [...values].map(literal);
  return listed.length === 0 ? 'NULL' : listed.join(', ');
}

/** The cells of one row of a table, days as ISO text. */
export function storedRow(table: Table, row: number, names: readonly string[]): Record<string, StoredValue> {
  return Object.fromEntries(
    names.map((name) => {
      const value = cellAt(table, name, row);
      return [
        name,
        table.columns[name]?.type === 'day' && value !== null ? isoFromDay(Number(value)) : value,
      ];
    }),
  );
}

/** Rows by their keys, as a relation of the herd has them; those it has not are left out. */
export async function rowsByKey(
  engine: Engine,
  relation: 'foot_visit_all' | 'visit_row',
  keys: ReadonlySet<RowKey>,
  more: readonly string[] = [],
): Promise<Map<RowKey, Record<string, StoredValue>>> {
  if (keys.size === 0) return new Map();
  const names = [...RECORD_NAMES, ...more];
  const table = await engine.query(
    `SELECT row_key, ${names.join(', ')} FROM ${HERD}.${relation} WHERE row_no IN (${rowsNamedSql(keys, literal)}) ORDER BY row_no`,
  );
  return new Map(texts(table, 'row_key').map((key, row) => [String(key), storedRow(table, row, names)]));
}

/** Which rows hold these feet on these days (`horse|day|foot`). */
export async function holders(engine: Engine, identities: ReadonlySet<string>): Promise<Map<string, RowKey>> {
  if (identities.size === 0) return new Map();
  const horses = new Set([...identities].map(horseOfKey));
  const table = await engine.query(
    `SELECT ${ROW_IDENTITY} AS identity, ${ROW_KEY} AS row_key FROM ${FOOT_ROW}
     WHERE horse_id IN (${literals(horses)}) AND ${ROW_IDENTITY} IN (${literals(identities)})
     ORDER BY row_no`,
  );
  const keys = texts(table, 'row_key');
  return new Map(texts(table, 'identity').map((identity, row) => [String(identity), String(keys[row])]));
}

/** What the horses' file and the breed table give rows whose own cells are blank. */
export async function fallbacks(engine: Engine, keys: ReadonlySet<RowKey>): Promise<Map<RowKey, RowValues>> {
  if (keys.size === 0) return new Map();
  const names = ['horse_name', 'client_id', 'breed', 'birth_year', 'sex', 'body_mass_kg'];
  const table = await engine.query(
    `SELECT v.row_key, ${names.map((name) => `h.${name}`).join(', ')}, coalesce(h.breed_type, b.breed_type) AS breed_type
     FROM ${HERD}.visit_row v LEFT JOIN ${HERD}.horse_row h ON h.horse_id = v.horse_id
     LEFT JOIN ${HERD}.breed_map b ON b.breed = coalesce(v.breed, h.breed)
     WHERE v.row_no IN (${rowsNamedSql(keys, literal)}) ORDER BY v.row_no`,
  );
  return new Map(
    texts(table, 'row_key').map((key, row) => [String(key), storedRow(table, row, [...names, 'breed_type'])]),
  );
}
