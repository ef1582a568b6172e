import { isoFromDay } from '../core/civil-day.ts';
import { columnOf } from '../herd/dictionary.ts';
import { matchCells, shapeOf } from './cell-match.ts';
import { dateReading, possibleDates } from './date-evidence.ts';
import { decideUnits } from './decide-units.ts';
import { decimalReading } from './decimal-evidence.ts';
import { headerWords, type Matched, matchHeaders } from './header-match.ts';
import { lengthsSeen } from './lengths-seen.ts';
import type { FileKind, MappedColumn, Mapping } from './mapping.ts';
import { type RawCell, rawCell, type Source, type SourceColumn } from './source.ts';
import { titleWords } from './title-lines.ts';

const EXAMPLES = 3;
const SHOWN_CELLS = 8;

/** What each column of a file seems to be, with the evidence; for the user to look over and change. */
export function proposeMapping(source: Source, kind: FileKind = kindOf(source)): Mapping {
  const headers = source.columns.map((c) => c.name);
  const named = source.hasHeader ? matchHeaders(headers, kind) : matchCells(source.columns, kind);
  const matched = kind === 'visits' ? withOnlyDates(named, source.columns) : named;
  const columnAt = (index: number): SourceColumn => source.columns[index] as SourceColumn;
  const measures = source.columns.filter((_, i) => {
    const target = matched[i]?.target;
    return target != null && columnOf(target).unit !== null;
  });
  const { decimal, why: decimalWhy } = decimalReading(measures);
  const columns = decideUnits(
    matched.map((m, index): MappedColumn => {
      const column = columnAt(index);
      const dates = possibleDates(column);
      return {
        ...m,
        warning: null,
        examples: examplesOf(column),
        seen: lengthsSeen(column, decimal),
        ...(dates && { dates }),
      };
    }),
  );
  const dateIndex = matched.findIndex((m) => m.target === 'visit_date');
  const dates = dateReading(dateIndex === -1 ? undefined : columnAt(dateIndex));
  return {
    kind,
    columns,
    dateOrder: dates.order,
    dateEvidence: dates.evidence,
    dateWhy: dates.why,
    decimal,
    decimalWhy,
    notes: [...(source.hasHeader ? [] : [rowForHeader(source)]), ...leftOut(source)],
    signature: source.hasHeader ? signatureOf(headers) : shapeOf(source.columns),
  };
}

function leftOut({ titles }: Source): string[] {
  const said = titleWords(titles);
  return said === '' ? [] : [`Above the header stands “${said}”: not read as rows.`];
}

/** Where no header names the date of the visit, and one column alone of those without a use holds dates, it does. */
function withOnlyDates<M extends Matched>(matched: readonly M[], columns: readonly SourceColumn[]): M[] {
  if (matched.some(({ target }) => target === 'visit_date')) return [...matched];
  const found = matched.flatMap(({ target }, index) => {
    const column = columns[index];
    return target === null && column && possibleDates(column) ? [index] : [];
  });
  const [only] = found;
  if (only === undefined || found.length > 1) return [...matched];
  const why = 'the only column of dates';
  return matched.with(only, { ...matched[only]!, target: 'visit_date', confidence: 'guess', why });
}

function rowForHeader({ columns }: Source): string {
  const cells = columns.map((column) => String(rawCell(column, 0) ?? ''));
  const shown = cells.length > SHOWN_CELLS ? [...cells.slice(0, SHOWN_CELLS), '…'] : cells;
  return `The first line looks like a row, not a header: “${shown.join(', ')}”. It is read as a row, and the columns are numbered.`;
}

/** A file without a date and without feet, but with horses, is one of horses. */
export function kindOf(source: Source): FileKind {
  const matched = source.hasHeader
    ? matchHeaders(
        source.columns.map((c) => c.name),
        'visits',
      )
    : matchCells(source.columns, 'visits');
  const targets = new Set<string | null>(matched.map((m) => m.target));
  const aboutVisits =
    targets.has('visit_date') || targets.has('foot') || matched.some((m) => m.foot !== null);
  return targets.has('horse_id') && !aboutVisits ? 'horses' : 'visits';
}

/** Headers as words, in order of the alphabet: moving a column does not make another file of it. */
function signatureOf(headers: readonly string[]): string {
  return headers
    .map((header) => headerWords(header).join(' '))
    .sort()
    .join('|');
}

function examplesOf({ type, distinct }: SourceColumn): string[] {
  const shown = (raw: RawCell): string =>
    type === 'day' && typeof raw === 'number' ? isoFromDay(raw) : String(raw ?? '').trim();
  return distinct
    .slice(0, EXAMPLES + 1)
    .map(shown)
    .filter((text) => text !== '')
    .slice(0, EXAMPLES);
}
