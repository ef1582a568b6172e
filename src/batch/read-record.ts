import type { HerdTables } from '../analyses/load-herd.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { codedOf, codedTextColumn, type Table, type TextColumn } from '../core/table.ts';
import { type AuditArguments, UnusableInput } from './arguments.ts';
import type { Books } from './books.ts';
import type { RecordPart } from './hive-folder.ts';
import { readFiles } from './read-files.ts';

/** Unique within a practice, and so to be told apart by it where there are several. */
const OWN_TO_PRACTICE = ['horse_id', 'client_id', 'practitioner_id'];

/**
 * The admitted rows of a record part by part, each through the same reading as any file; the books are kept in `books`.
 * Where there are several practices, ids come with the practice before them: `Ouzel/H12`. Throws `UnusableInput` where
 * a horse has rows in two parts.
 */
export async function* readRecord(
  parts: readonly RecordPart[],
  dates: AuditArguments['dates'],
  today: CivilDay,
  books: Books,
): AsyncGenerator<HerdTables> {
  const practices = new Set(parts.map(({ practice }) => practice));
  const places = new Map<string, string>();
  for (const { practice, files } of parts) {
    const read = await readFiles(files, dates, today);
    const place = files[0]?.name.split('/').slice(0, -1).join('/') ?? '';
    books.enter(read, parts.length === 1 ? '' : place);
    const before = practices.size > 1 && practice !== null ? `${practice}/` : '';
    const told = (table: Table): Table => (before === '' ? table : withBefore(before, table));
    const here = (visits: Table): Table => {
      if (parts.length > 1) refuseElsewhere(visits, place, places);
      return visits;
    };
    yield {
      visits: {
        rowCount: read.visits.rowCount,
        piece: (from, to) => here(told(read.visits.piece(from, to))),
      },
      horses: told(read.horses),
    };
  }
}

function withBefore(before: string, { rowCount, columns }: Table): Table {
  const told = OWN_TO_PRACTICE.flatMap((name) => {
    const column = columns[name];
    if (column?.type !== 'text') return [];
    const { codes, levels } = codedOf(column);
    return [[name, codedTextColumn(codes, withBeforeEach(before, levels))] as const];
  });
  return { rowCount, columns: { ...columns, ...Object.fromEntries(told) } };
}

/** Pieces of one table share their levels, and go on sharing them: what is worked out for a list of levels is kept. */
const written = new WeakMap<readonly string[], readonly string[]>();

function withBeforeEach(before: string, levels: readonly string[]): readonly string[] {
  const known = written.get(levels) ?? levels.map((level) => before + level);
  written.set(levels, known);
  return known;
}

/** Keeps in `places` where each horse has its rows. */
function refuseElsewhere(visits: Table, place: string, places: Map<string, string>): void {
  const { codes, levels } = codedOf(visits.columns.horse_id as TextColumn);
  for (const code of new Set(codes)) {
    const id = levels[code] as string;
    const known = places.get(id);
    if (known !== undefined && known !== place) {
      throw new UnusableInput(
        `the horse “${id}” has rows in ${known} and in ${place}; all of its rows must stand in one of them`,
      );
    }
    places.set(id, place);
  }
}
