import { type ColumnName, columnOf } from '../herd/dictionary.ts';
import { FOOT_LABELS, type Foot } from '../herd/vocabularies.ts';
import type { LengthsSeen } from './lengths-seen.ts';
import type { DateOrder } from './values/date-value.ts';
import type { DecimalMark } from './values/number-value.ts';

export type FileKind = 'visits' | 'horses';
export type CellUnit = 'mm' | 'cm' | 'in' | 'deg' | 'kg' | 'lb';

/** The order of day and month that a column's dates prove; `ask` where nothing proves one. */
export interface DateReading {
  readonly order: DateOrder | 'ask';
  readonly evidence: DateEvidence;
  readonly why: string;
}

export type Choice = 'target' | 'foot' | 'unit';

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
  /** Plain words for how target and foot came about. */
  readonly why: string;
  /** And for the unit. */
  readonly unitWhy?: string;
  /** What the user chose, for this file or for an earlier one with its headers. */
  readonly chosen?: readonly Choice[];
  /** Evidence for a unit of length, should the column be read as one. Left out of mappings kept from before there was any. */
  readonly seen?: LengthsSeen;
  /** How its cells read as dates, should the column hold the visit date; left out where few of them are dates. */
  readonly dates?: DateReading;
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
  /** Empty where the file has no decimals, or only points. */
  readonly decimalWhy: string;
  /** The user said which of day and month comes first. */
  readonly dateChosen?: boolean;
  /** Worth knowing about the file before it is read, a sentence each. */
  readonly notes?: readonly string[];
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
    const target = c.target as ColumnName;
    if (c.unit === null && columnOf(target).kind === 'length')
      problems.push(`“${c.source}”: say whether mm, cm or inches.`);
    const key = `${target} ${c.foot ?? ''}`;
    const earlier = seen.get(key);
    if (earlier !== undefined) {
      const what = `“${columnOf(target).label}”${c.foot ? `, ${FOOT_LABELS[c.foot]}` : ''}`;
      problems.push(`“${earlier}” and “${c.source}” are both read as ${what}.`);
    }
    seen.set(key, c.source);
  }
  return problems;
}

/** What is kept of a mapping that the user has confirmed; plain data for any store. */
export interface RememberedMapping {
  readonly signature: string;
  readonly kind: FileKind;
  readonly columns: readonly Pick<MappedColumn, 'source' | 'target' | 'foot' | 'unit' | 'chosen'>[];
  readonly dateOrder: DateOrder | null;
  readonly decimal: DecimalMark;
  readonly dateChosen?: boolean;
}

/** `dateOrder` is kept only where there was an order to settle. */
export function rememberMapping(mapping: Mapping): RememberedMapping {
  const { signature, kind, decimal, dateOrder, dateChosen = false } = mapping;
  const columns = mapping.columns.map(({ source, target, foot, unit, chosen = [] }) => {
    return { source, target, foot, unit, chosen };
  });
  const order = dateOrder === 'ask' || dateOrder === 'iso' ? null : dateOrder;
  return { signature, kind, columns, decimal, dateOrder: order, dateChosen };
}
