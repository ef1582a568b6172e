import {
  type CodedCells,
  type CodedNumbers,
  type Column,
  codedNumberColumn,
  codedOf,
  codedTextColumn,
  type Table,
  type TextColumn,
  textColumnByCode,
} from '../core/table.ts';
import { breedTypeOf } from './breed-table.ts';

/** Which row of the horses each visit's horse has, −1 for none: by the code of its name where that is known, and row by row. */
interface HorseOfVisits {
  readonly byCode: { readonly codes: CodedNumbers['codes']; readonly rows: Int32Array } | undefined;
  readonly rows: Int32Array;
}

type Merge = (visits: Table, horse: HorseOfVisits) => Column;

/** A fact in numbers: that of the row, else that of its horse. */
export function mergeNumbers(horses: Table, name: string): Merge {
  const facts = numbersOf(horses, name);
  const ofCodes = remembered((rows: Int32Array) =>
    Float64Array.from(rows, (row) => (row >= 0 ? (facts[row] as number) : Number.NaN)),
  );
  return (visits, horse) => {
    const own = visits.columns[name];
    if (own?.type !== 'number' && horse.byCode) {
      const { codes, rows } = horse.byCode;
      return codedNumberColumn('number', { codes, levels: ofCodes(rows) });
    }
    const values =
      own?.type === 'number' ? own.values.slice() : new Float64Array(visits.rowCount).fill(Number.NaN);
    const horseRow = horse.rows;
    for (let row = 0; row < values.length; row++) {
      const at = horseRow[row] as number;
      if (at >= 0 && Number.isNaN(values[row])) values[row] = facts[at] as number;
    }
    return { type: 'number', values };
  };
}

/** The same of a text. */
export function mergeTexts(horses: Table, name: string): Merge {
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
  const isWhole = remembered((levels: CodedCells<string>['levels']) => !levels.includes(null));
  const ofCodes = remembered((rows: Int32Array) =>
    Array.from(rows, (row) => facts.levels[facts.codes[row] ?? -1] ?? null),
  );
  return (visits, horse) => {
    const own = textsOf(visits, name);
    const { levels, ofHorse } = joined(own.coded?.levels ?? codedOf(own).levels);
    const codesOf = (): Int32Array => statedOr(codedOf(own).codes, lookedUp(horse.rows, ofHorse));
    if (own.byCode && isWhole(own.byCode.levels)) return textColumnByCode(own.byCode, levels, codesOf);
    if (!(name in visits.columns) && horse.byCode) {
      const { codes, rows } = horse.byCode;
      return textColumnByCode({ codes, levels: ofCodes(rows) }, levels, codesOf);
    }
    return codedTextColumn(codesOf(), levels);
  };
}

/** The type of a breed: as stated, else by the breed table. */
export function withBreedTypes(): (breed: TextColumn, type: TextColumn) => TextColumn {
  const typeOf = new Map<string | null, string | null>([[null, null]]);
  const known = (breed: string | null): string | null => {
    const type = typeOf.get(breed);
    if (type !== undefined) return type;
    const found = breed === null ? null : breedTypeOf(breed);
    typeOf.set(breed, found);
    return found;
  };
  const eitherOf = remembered((types: readonly (string | null)[]) =>
    remembered((breeds: readonly (string | null)[]) => breeds.map((breed, k) => types[k] ?? known(breed))),
  );
  return (breed, type) => {
    const [breeds, types] = [codedOf(breed), codedOf(type)];
    const levels = new Map(types.levels.map((level, code) => [level, code]));
    const codeOf = Int32Array.from(breeds.levels, (level) => {
      const name = known(level);
      if (name === null) return -1;
      const code = levels.get(name) ?? levels.size;
      levels.set(name, code);
      return code;
    });
    const codesOf = (): Int32Array => statedOr(types.codes, lookedUp(breeds.codes, codeOf));
    return breed.byCode && type.byCode?.codes === breed.byCode.codes
      ? textColumnByCode(
          { codes: breed.byCode.codes, levels: eitherOf(type.byCode.levels)(breed.byCode.levels) },
          [...levels.keys()],
          codesOf,
        )
      : codedTextColumn(codesOf(), [...levels.keys()]);
  };
}

/** What `of` has for each code, −1 for a code below 0. Loops and not calls: a herd has millions of rows. */
export function lookedUp(codes: Int32Array, of: Int32Array): Int32Array {
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

export function textsOf({ columns, rowCount }: Table, name: string): TextColumn {
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
export function remembered<L, T>(work: (levels: L) => T): (levels: L) => T {
  let last: { readonly levels: L; readonly made: T } | null = null;
  return (levels) => {
    if (last?.levels !== levels) last = { levels, made: work(levels) };
    return last.made;
  };
}
