import type { LengthUnit } from '../core/length.ts';
import { columnOf } from '../herd/dictionary.ts';
import { dateReading } from './date-evidence.ts';
import { decimalReading } from './decimal-evidence.ts';
import { headerWords, matchHeaders } from './header-match.ts';
import type { FileKind, MappedColumn, Mapping } from './mapping.ts';
import type { Source, SourceColumn } from './source.ts';
import { headerUnitReading, inferUnit, type UnitReading } from './unit-evidence.ts';

const EXAMPLES = 3;

/** What each column of a file seems to be, with the evidence; for the user to look over and change. */
export function proposeMapping(source: Source, kind: FileKind = kindOf(source)): Mapping {
  const headers = source.columns.map((c) => c.name);
  const matched = matchHeaders(headers, kind);
  const columnAt = (index: number): SourceColumn => source.columns[index] as SourceColumn;
  const measures = source.columns.filter((_, i) => {
    const target = matched[i]?.target;
    return target != null && columnOf(target).unit !== null;
  });
  const { decimal, why: decimalWhy } = decimalReading(measures);
  const units = new Map<number, UnitReading>();
  let usual: LengthUnit | null = null;
  // The toes first: the other lengths lean on them. The four feet of one measure are judged together.
  const lengths = matched
    .map((m, index) => ({ ...m, index }))
    .filter((m) => m.target !== null && columnOf(m.target).kind === 'length')
    .sort((a, b) => Number(!a.target?.startsWith('toe')) - Number(!b.target?.startsWith('toe')));
  for (const { target, unit, index } of lengths) {
    if (target === null) continue;
    const alike = lengths.filter((m) => m.target === target && m.unit === unit).map((m) => columnAt(m.index));
    const described = columnOf(target);
    const reading: UnitReading =
      unit === 'mm' || unit === 'cm' || unit === 'in'
        ? headerUnitReading(alike, described, unit, decimal)
        : inferUnit(alike, described, decimal, usual);
    units.set(index, reading);
    if (usual === null && target.startsWith('toe')) usual = reading.unit;
  }
  const columns = matched.map((m, index): MappedColumn => {
    const reading = units.get(index);
    const described = m.target === null ? null : columnOf(m.target);
    const unit = reading ? reading.unit : described?.unit == null ? null : (m.unit ?? described.unit);
    const why = reading?.why ? `${m.why}; ${reading.why}` : m.why;
    return { ...m, unit, why, warning: reading?.warning ?? null, examples: examplesOf(columnAt(index)) };
  });
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
    signature: signatureOf(headers),
  };
}

/** A file without a date and without feet, but with horses, is one of horses. */
export function kindOf(source: Source): FileKind {
  const matched = matchHeaders(
    source.columns.map((c) => c.name),
    'visits',
  );
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
