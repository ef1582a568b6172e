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
    const horseRow = lookedUp(codes, rowsOfLevels(levels));
    const merged = merges.map(([name, merge]) => [name, merge(visits, horseRow)] as const);
    const columns: Record<string, Column> = { ...visits.columns, ...Object.fromEntries(merged) };
    columns.breed_type = typed(columns.breed as TextColumn, columns.breed_type as TextColumn);
    columns[OWN_FACTS] = { type: 'number', values: own, whole: true };
    return { rowCount: visits.rowCount, columns };
  };
}

function markStated(column: Column | undefined, own: Float64Array, bit: number): void {
  if (column?.type === 'number') {
    const { values } = column;
    for (let row = 0; row < own.length; row++) if (!Number.isNaN(values[row])) own[row]! += bit;
  } else if (column?.type === 'text') {
    const { codes } = codedOf(column);
    for (let row = 0; row < own.length; row++) if ((codes[row] as number) >= 0) own[row]! += bit;
  }
}

/** What `of` has for each code, −1 for a code below 0. Loops and not calls: a herd has millions of rows. */
function lookedUp(codes: Int32Array, of: Int32Array): Int32Array {
  const found = new Int32Array(codes.length);
  for (let row = 0; row < codes.length; row++) {
    const code = codes[row] as number;
    found[row] = code >= 0 ? (of[code] as number) : -1;
  }
  return found;
}

/** The codes stated, and the others where there is none. `others` is written over. */
function statedOr(codes: Int32Array, others: Int32Array): Int32Array {
  for (let row = 0; row < codes.length; row++) {
    const code = codes[row] as number;
    if (code >= 0) others[row] = code;
  }
  return others;
}

function mergeNumbers(horses: Table, name: string): Merge {
  const facts = numbersOf(horses, name);
  return (visits, horseRow) => {
    const own = visits.columns[name];
    const values =
      own?.type === 'number' ? own.values.slice() : new Float64Array(visits.rowCount).fill(Number.NaN);
    for (let row = 0; row < values.length; row++) {
      const horse = horseRow[row] as number;
      if (horse >= 0 && Number.isNaN(values[row])) values[row] = facts[horse] as number;
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
    return { levels: [...levels.keys()], ofHorse: lookedUp(facts.codes, codeOf) };
  });
  return (visits, horseRow) => {
    const own = codedOf(textsOf(visits, name));
    const { levels, ofHorse } = joined(own.levels);
    return codedTextColumn(statedOr(own.codes, lookedUp(horseRow, ofHorse)), levels);
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
    return codedTextColumn(statedOr(types.codes, lookedUp(breeds.codes, codeOf)), [...levels.keys()]);
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
