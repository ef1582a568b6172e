import { type Column, codedNumberColumn, codedOf, type Table, type TextColumn } from '../core/table.ts';
import { lookedUp, mergeNumbers, mergeTexts, remembered, textsOf, withBreedTypes } from './fact-merge.ts';

/** What is true of a horse, not of a visit: a visits file may say it in every row, or a horses file once. */
export const HORSE_FACTS = [
  'horse_name',
  'client_id',
  'breed',
  'breed_type',
  'birth_year',
  'sex',
  'body_mass_kg',
] as const;

/**
 * The column that says which facts a row states itself, a bit for each in the order of `HORSE_FACTS`; the others came
 * from the horses file, or a breed's type from the breed table.
 */
export const OWN_FACTS = 'own_facts';
/** Every way in which a row can state some of the facts. */
const STATED = Float64Array.from({ length: 1 << HORSE_FACTS.length }, (_, bits) => bits);

/**
 * Fills each row's facts in: its own where it states them, else those of its horse, else the type that the breed table
 * gives its breed. `horses` has one row a horse; columns that it or the visits lack count as missing.
 */
export function withHorseFacts(horses: Table): (visits: Table) => Table {
  const rowOf = new Map<string, number>();
  if (horses.rowCount > 0)
    textsOf(horses, 'horse_id').values.forEach((id, row) => {
      rowOf.set(String(id), row);
    });
  const rowOfHorse = (id: string | null): number => (id === null ? -1 : (rowOf.get(id) ?? -1));
  const rowsOf = (levels: readonly (string | null)[]): Int32Array => Int32Array.from(levels, rowOfHorse);
  const [rowsOfCodes, rowsOfLevels] = [remembered(rowsOf), remembered(rowsOf)];
  const merges = HORSE_FACTS.map((name) => {
    const merge = name === 'birth_year' || name === 'body_mass_kg' ? mergeNumbers : mergeTexts;
    return [name, merge(horses, name)] as const;
  });
  const typed = withBreedTypes();
  return (visits) => {
    const id = textsOf(visits, 'horse_id');
    let rows: Int32Array | null = null;
    const horse = {
      byCode: id.byCode && { codes: id.byCode.codes, rows: rowsOfCodes(id.byCode.levels) },
      get rows() {
        const { codes, levels } = codedOf(id);
        rows ??= lookedUp(codes, rowsOfLevels(levels));
        return rows;
      },
    };
    const merged = merges.map(([name, merge]) => [name, merge(visits, horse)] as const);
    const columns: Record<string, Column> = { ...visits.columns, ...Object.fromEntries(merged) };
    columns.breed_type = typed(columns.breed as TextColumn, columns.breed_type as TextColumn);
    columns[OWN_FACTS] = codedNumberColumn('number', { codes: stated(visits), levels: STATED }, true);
    return { rowCount: visits.rowCount, columns };
  };
}

/** A bit for each fact that a row states itself. */
function stated({ rowCount, columns }: Table): Uint8Array {
  const own = new Uint8Array(rowCount);
  HORSE_FACTS.forEach((name, bit) => {
    markStated(columns[name], own, 1 << bit);
  });
  return own;
}

function markStated(column: Column | undefined, own: Uint8Array, bit: number): void {
  if (column?.type !== 'number' && column?.type !== 'text') return;
  if (column.byCode) {
    const { codes, levels } = column.byCode;
    const bits = Uint8Array.from(levels as readonly unknown[], (level) =>
      level === null || Number.isNaN(level) ? 0 : bit,
    );
    for (let row = 0; row < own.length; row++) own[row]! += bits[codes[row] as number] as number;
  } else if (column.type === 'number') {
    const { values } = column;
    for (let row = 0; row < own.length; row++) if (!Number.isNaN(values[row])) own[row]! += bit;
  } else {
    const { codes } = codedOf(column);
    for (let row = 0; row < own.length; row++) if ((codes[row] as number) >= 0) own[row]! += bit;
  }
}
