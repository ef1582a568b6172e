import type { ColumnName } from '../herd/dictionary.ts';
import type { Foot } from '../herd/vocabularies.ts';
import type { DateOrder } from './values/date-value.ts';
import type { DecimalMark } from './values/number-value.ts';

export type FileKind = 'visits' | 'horses';
export type CellUnit = 'mm' | 'cm' | 'in' | 'deg' | 'kg' | 'lb';

/** What is read from one column of a file. The user may change target, foot and unit. */
export interface MappedColumn {
  readonly source: string;
  /** Null: not used. */
  readonly target: ColumnName | null;
  /** The foot a column belongs to where one row holds four; null where the column is of the visit, or a row is a foot. */
  readonly foot: Foot | null;
  /** Null on a length: not decided, and asked about. */
  readonly unit: CellUnit | null;
  readonly confidence: 'name' | 'synonym' | 'guess' | 'none' | 'user';
  /** Plain words for how this came about. */
  readonly why: string;
  /** What speaks against it, such as a unit in the header that the values do not fit. */
  readonly warning: string | null;
  readonly examples: readonly string[];
}

/** How the dates of a file can be read. Counts are rows. */
export interface DateEvidence {
  /** One reading only: year first, a month's name, or equal day and month. */
  readonly sure: number;
  readonly onlyDayFirst: number;
  readonly onlyMonthFirst: number;
  readonly both: number;
  readonly unreadable: number;
  readonly examples: {
    readonly onlyDayFirst: string[];
    readonly onlyMonthFirst: string[];
    readonly both: string[];
  };
}

export interface Mapping {
  readonly kind: FileKind;
  readonly columns: readonly MappedColumn[];
  /** `ask`: both readings fit and the user has not said. */
  readonly dateOrder: DateOrder | 'ask';
  readonly dateEvidence: DateEvidence;
  readonly dateWhy: string;
  readonly decimal: DecimalMark;
  readonly decimalWhy: string;
  /** Headers, normalised and in order of the alphabet: what a mapping is remembered by. */
  readonly signature: string;
}

/** What must be settled before the file can be read, a sentence each; empty when ready. */
export function mappingProblems(mapping: Mapping): string[] {
  const used = mapping.columns.filter((c) => c.target !== null);
  const has = (target: ColumnName): boolean => used.some((c) => c.target === target);
  const problems: string[] = [];
  if (!has('horse_id')) problems.push('No column says which horse.');
  if (mapping.kind === 'visits') {
    const wide = used.some((c) => c.foot !== null);
    if (!has('visit_date')) problems.push('No column holds the visit date.');
    if (!wide && !has('foot')) problems.push('No column says which foot.');
    if (wide && has('foot')) problems.push('One column names the foot, and others belong to a foot each.');
    if (has('visit_date') && mapping.dateOrder === 'ask') {
      problems.push('The dates can be read day-first or month-first; say which.');
    }
  }
  const seen = new Map<string, string>();
  for (const c of used) {
    if (c.unit === null && c.target?.endsWith('_mm'))
      problems.push(`“${c.source}”: say whether mm, cm or inches.`);
    const key = `${c.target} ${c.foot ?? ''}`;
    const earlier = seen.get(key);
    if (earlier !== undefined)
      problems.push(`“${earlier}” and “${c.source}” are both read as ${key.trim()}.`);
    seen.set(key, c.source);
  }
  return problems;
}

/** What is kept of a mapping that the user has confirmed; plain data for any store. */
export interface RememberedMapping {
  readonly signature: string;
  readonly kind: FileKind;
  readonly columns: readonly Pick<MappedColumn, 'source' | 'target' | 'foot' | 'unit'>[];
  readonly dateOrder: DateOrder | null;
  readonly decimal: DecimalMark;
}

/** `dateOrder` is kept only where the file itself could not settle it. */
export function rememberMapping(mapping: Mapping): RememberedMapping {
  const { signature, kind, decimal, dateOrder } = mapping;
  const columns = mapping.columns.map(({ source, target, foot, unit }) => ({ source, target, foot, unit }));
  return { signature, kind, columns, decimal, dateOrder: dateOrder === 'ask' ? null : dateOrder };
}

/** The remembered choices over a fresh proposal; the proposal where the headers differ. Evidence in the dates wins. */
export function applyRemembered(mapping: Mapping, remembered: RememberedMapping): Mapping {
  if (remembered.signature !== mapping.signature) return mapping;
  const bySource = new Map(remembered.columns.map((c) => [c.source.toLowerCase(), c]));
  const columns = mapping.columns.map((column): MappedColumn => {
    const kept = bySource.get(column.source.toLowerCase());
    if (!kept) return column;
    const { target, foot, unit } = kept;
    if (target === column.target && foot === column.foot && unit === column.unit) return column;
    return {
      ...column,
      target,
      foot,
      unit,
      confidence: 'user',
      why: 'as you chose for a file with these headers',
    };
  });
  const asked = mapping.dateOrder === 'ask' && remembered.dateOrder !== null;
  return {
    ...mapping,
    kind: remembered.kind,
    columns,
    decimal: remembered.decimal,
    dateOrder: asked ? (remembered.dateOrder as DateOrder) : mapping.dateOrder,
    dateWhy: asked ? 'as you chose for a file with these headers' : mapping.dateWhy,
  };
}
