import {
  type Column,
  codedBooleanColumn,
  codedNumberColumn,
  codedTextColumn,
  type Table,
  textColumnByCode,
  wholeColumn,
} from '../core/table.ts';
import type { TablePieces } from '../core/table-pieces.ts';
import type { ColumnDescription } from '../herd/column.ts';
import { type ColumnName, FOOT_VISIT, HORSE_COLUMNS, storedAs } from '../herd/dictionary.ts';
import { FEET } from '../herd/vocabularies.ts';
import { type ColumnParts, columnParts } from './column-parts.ts';
import type { FileKind } from './mapping.ts';
import type { Places, Taken } from './taken.ts';

/** The kept rows of several reads as one table, made piece by piece. */
interface Gathered extends TablePieces {
  /** The different texts that rows hold in a column, as they are first met; none where no file has it. */
  different(name: ColumnName): readonly string[];
}

/**
 * Columns of the dictionary that any file has, then `source_file` and `source_line`; others would only take room.
 * `order` says which row comes at each place, counted through all that were taken; null where they stand in order.
 */
export function gather(taking: readonly Taken[], kind: FileKind, order: Int32Array | null): Gathered {
  const starts = Int32Array.from(taking.map(({ kept }) => kept.length));
  let rowCount = 0;
  starts.forEach((length, k) => {
    starts[k] = rowCount;
    rowCount += length;
  });
  const had = new Set<string>(taking.flatMap(({ read }) => read.targets));
  const described: readonly ColumnDescription[] = (kind === 'visits' ? FOOT_VISIT : HORSE_COLUMNS).filter(
    (c) => c.required || had.has(c.name),
  );
  const parts = new Map(
    described.map((c) => [c.name, columnParts(taking, c.name as ColumnName, storedAs(c))] as const),
  );
  const files = [...new Set(taking.map(({ read }) => read.source.file))];

  const piece = (from: number, to: number): Table => {
    const places = placesIn(taking, starts, order, from, to);
    const columns: Record<string, Column> = {};
    for (const [name, column] of parts) columns[name] = assemble(column, places, to - from);
    const file = files.length <= 256 ? new Uint8Array(to - from) : new Int32Array(to - from);
    const line = new Int32Array(to - from);
    for (const { taken, at, rows } of places) {
      const { source } = (taking[taken] as Taken).read;
      const code = files.indexOf(source.file);
      const { lines } = source;
      if (at === null) file.fill(code);
      for (let k = 0; k < rows.length; k++) {
        const to = at === null ? k : (at[k] as number);
        if (at !== null) file[to] = code;
        line[to] = lines[rows[k] as number] as number;
      }
    }
    columns.source_file = textColumnByCode({ codes: file, levels: files }, files, () =>
      Int32Array.from(file),
    );
    columns.source_line = wholeColumn(line);
    return { rowCount: to - from, columns };
  };

  return {
    rowCount,
    piece,
    different(name) {
      const column = parts.get(name);
      if (column?.type !== 'text') return [];
      const codes = new Int32Array(rowCount);
      for (const places of placesIn(taking, starts, order, 0, rowCount)) column.fill(places, codes);
      const met = new Set<number>();
      let last = -1;
      for (const code of codes) {
        if (code !== last && code >= 0) met.add(code);
        last = code;
      }
      return [...met].map((code) => column.levels[code] as string);
    },
  };
}

function placesIn(
  taking: readonly Taken[],
  starts: Int32Array,
  order: Int32Array | null,
  from: number,
  to: number,
): Places[] {
  return straightPlaces(taking, starts, order, from, to) ?? sortedPlaces(taking, starts, order, from, to);
}

/** Rows of one long file that stand in order: nothing is looked up row by row. */
function straightPlaces(...[taking, starts, order, from, to]: Parameters<typeof placesIn>): Places[] | null {
  if (order || from === to) return null;
  let taken = taking.length - 1;
  while (taken > 0 && from < (starts[taken] as number)) taken--;
  const start = starts[taken] as number;
  const { read, kept } = taking[taken] as Taken;
  if (read.wide || to > start + kept.length) return null;
  const candidates = kept.subarray(from - start, to - start);
  const first = candidates[0] as number;
  const isWhole = (candidates.at(-1) as number) - first === candidates.length - 1;
  const rows = isWhole
    ? read.rows.subarray(first, first + candidates.length)
    : candidates.map((candidate) => read.rows[candidate] as number);
  return [{ taken, foot: 0, at: null, candidates, rows }];
}

function sortedPlaces(...[taking, starts, order, from, to]: Parameters<typeof placesIn>): Places[] {
  const group = new Int32Array(to - from);
  const candidate = new Int32Array(to - from);
  const sizes = new Int32Array(taking.length * FEET.length);
  let taken = 0;
  for (let i = from; i < to; i++) {
    const row = order ? (order[i] as number) : i;
    while (row < (starts[taken] as number)) taken--;
    while (taken + 1 < taking.length && row >= (starts[taken + 1] as number)) taken++;
    const { read, kept } = taking[taken] as Taken;
    const found = kept[row - (starts[taken] as number)] as number;
    const of = taken * FEET.length + (read.wide ? (read.feet[found] as number) : 0);
    candidate[i - from] = found;
    group[i - from] = of;
    sizes[of]! += 1;
  }
  const places = Array.from(sizes, (size, of) => ({
    taken: Math.floor(of / FEET.length),
    foot: of % FEET.length,
    at: new Int32Array(size),
    candidates: new Int32Array(size),
    rows: new Int32Array(size),
  }));
  sizes.fill(0);
  for (let k = 0; k < group.length; k++) {
    const of = group[k] as number;
    const { taken: from, at, candidates, rows } = places[of] as (typeof places)[number];
    const next = sizes[of] as number;
    at[next] = k;
    candidates[next] = candidate[k] as number;
    rows[next] = (taking[from] as Taken).read.rows[candidate[k] as number] as number;
    sizes[of] = next + 1;
  }
  return places.filter(({ rows }) => rows.length > 0);
}

function assemble(column: ColumnParts, places: readonly Places[], rowCount: number): Column {
  if (column.type === 'text') {
    const codesOf = (): Int32Array => {
      const codes = new Int32Array(rowCount).fill(-1);
      for (const one of places) column.fill(one, codes);
      return codes;
    };
    const coded = column.coded(places);
    return coded
      ? textColumnByCode(coded, column.levels, codesOf)
      : codedTextColumn(codesOf(), column.levels);
  }
  if (column.type === 'boolean') {
    const coded = column.coded(places);
    if (coded) return codedBooleanColumn(coded);
    const values = new Array<boolean | null>(rowCount).fill(null);
    for (const one of places) column.fill(one, values);
    return { type: 'boolean', values };
  }
  const coded = column.coded(places);
  if (coded) return codedNumberColumn(column.type, coded);
  const values = new Float64Array(rowCount).fill(Number.NaN);
  for (const one of places) column.fill(one, values);
  return { type: column.type, values };
}
