import { type Column, codedOf, codedTextColumn, type Table, type TextColumn } from '../core/table.ts';
import { breedTypeOf } from './breed-table.ts';

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

type Merge = (visits: Table, horseRow: Int32Array) => Column;

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
  const rowsOfLevels = remembered((levels: readonly string[]) =>
    Int32Array.from(levels, (id) => rowOf.get(id) ?? -1),
  );
  const merges = HORSE_FACTS.map((name): readonly [string, Merge] => [
    name,
    name === 'birth_year' || name === 'body_mass_kg' ? mergeNumbers(horses, name) : mergeTexts(horses, name),
  ]);
  const typed = withBreedTypes();
  return (visits) => {
    const own = new Float64Array(visits.rowCount);
    HORSE_FACTS.forEach((name, bit) => {
      markStated(visits.columns[name], own, 1 << bit);
    });
    const { codes, levels } = codedOf(textsOf(visits, 'horse_id'));
    const byLevel = rowsOfLevels(levels);
    const horseRow = codes.map((code) => byLevel[code] ?? -1);
    const merged = merges.map(([name, merge]) => [name, merge(visits, horseRow)] as const);
    const columns: Record<string, Column> = { ...visits.columns, ...Object.fromEntries(merged) };
    columns.breed_type = typed(columns.breed as TextColumn, columns.breed_type as TextColumn);
    columns[OWN_FACTS] = { type: 'number', values: own, whole: true };
    return { rowCount: visits.rowCount, columns };
  };
}

function markStated(column: Column | undefined, own: Float64Array, bit: number): void {
  if (column?.type === 'number') {
    column.values.forEach((value, row) => {
      if (!Number.isNaN(value)) own[row]! += bit;
    });
  } else if (column?.type === 'text') {
    codedOf(column).codes.forEach((code, row) => {
      if (code >= 0) own[row]! += bit;
    });
  }
}

function mergeNumbers(horses: Table, name: string): Merge {
  const facts = numbersOf(horses, name);
  return (visits, horseRow) => {
    const own = visits.columns[name];
    const values = new Float64Array(visits.rowCount);
    for (let row = 0; row < values.length; row++) {
      const stated = own?.type === 'number' ? (own.values[row] as number) : Number.NaN;
      values[row] = Number.isNaN(stated) ? (facts[horseRow[row] as number] ?? Number.NaN) : stated;
    }
    return { type: 'number', values };
  };
}

function mergeTexts(horses: Table, name: string): Merge {
  const facts = codedOf(textsOf(horses, name));
  const joined = remembered((own: readonly string[]) => {
    const levels = new Map(own.map((level, code) => [level, code]));
    const codeOf = Int32Array.from(facts.levels, (level) => {
      const code = levels.get(level) ?? levels.size;
      levels.set(level, code);
      return code;
    });
    return { levels: [...levels.keys()], ofHorse: facts.codes.map((code) => codeOf[code] ?? -1) };
  });
  return (visits, horseRow) => {
    const own = codedOf(textsOf(visits, name));
    const { levels, ofHorse } = joined(own.levels);
    const codes = own.codes.map((code, row) => (code >= 0 ? code : (ofHorse[horseRow[row] as number] ?? -1)));
    return codedTextColumn(codes, levels);
  };
}

function withBreedTypes(): (breed: TextColumn, type: TextColumn) => TextColumn {
  const known = remembered((breeds: readonly string[]) => breeds.map(breedTypeOf));
  return (breed, type) => {
    const [breeds, types] = [codedOf(breed), codedOf(type)];
    const levels = new Map(types.levels.map((level, code) => [level, code]));
    const codeOf = Int32Array.from(known(breeds.levels), (name) => {
      if (name === null) return -1;
      const code = levels.get(name) ?? levels.size;
      levels.set(name, code);
      return code;
    });
    const codes = types.codes.map((code, row) =>
      code >= 0 ? code : (codeOf[breeds.codes[row] as number] ?? -1),
    );
    return codedTextColumn(codes, [...levels.keys()]);
  };
}

function textsOf({ columns, rowCount }: Table, name: string): TextColumn {
  const column = columns[name];
  return column?.type === 'text' ? column : codedTextColumn(new Int32Array(rowCount).fill(-1), NO_LEVELS);
}

function numbersOf({ columns, rowCount }: Table, name: string): Float64Array {
  const column = columns[name];
  return column?.type === 'number' ? column.values : new Float64Array(rowCount).fill(Number.NaN);
}

/** The same list each time, so that what was worked out for it holds for every piece. */
const NO_LEVELS: readonly string[] = [];

/** Pieces of one table share their lists of levels: what is worked out for the last list is kept. */
function remembered<T>(work: (levels: readonly string[]) => T): (levels: readonly string[]) => T {
  let last: { readonly levels: readonly string[]; readonly made: T } | null = null;
  return (levels) => {
    if (last?.levels !== levels) last = { levels, made: work(levels) };
    return last.made;
  };
}
