import { columnOf } from '../herd/dictionary.ts';
import { matchCells, shapeOf } from './cell-match.ts';
import { dateReading, possibleDates } from './date-evidence.ts';
import { decideUnits } from './decide-units.ts';
import { decimalReading } from './decimal-evidence.ts';
import { headerWords, matchHeaders } from './header-match.ts';
import { lengthsSeen } from './lengths-seen.ts';
import type { FileKind, MappedColumn, Mapping } from './mapping.ts';
import { rawCell, type Source, type SourceColumn } from './source.ts';

const EXAMPLES = 3;
const SHOWN_CELLS = 8;

/** What each column of a file seems to be, with the evidence; for the user to look over and change. */
export function proposeMapping(source: Source, kind: FileKind = kindOf(source)): Mapping {
  const headers = source.columns.map((c) => c.name);
  const matched = source.hasHeader ? matchHeaders(headers, kind) : matchCells(source.columns, kind);
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
    notes: source.hasHeader ? [] : [rowForHeader(source)],
    signature: source.hasHeader ? signatureOf(headers) : shapeOf(source.columns),
  };
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
export function signatureOf(headers: readonly string[]): string {
  return headers
    .map((header) => headerWords(header).join(' '))
    .sort()
    .join('|');
}

function examplesOf(column: SourceColumn): string[] {
  return column.distinct
    .map((raw) => String(raw ?? '').trim())
    .filter((text) => text !== '')
    .slice(0, EXAMPLES);
}
