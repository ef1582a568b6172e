import { type ShownLength, shownUnit, shownValue } from '../analyses/lengths.ts';
import {
  accepted,
  type Bound,
  boundWords,
  type Condition,
  checkDecisions,
  type DecisionColumn,
  type DecisionFault,
  type DecisionShape,
  type DecisionTable,
  sameBound,
} from '../core/decision-table.ts';
import { formatNumber } from '../core/format-value.ts';
import { parseLength } from '../intake/values/length-value.ts';
import { parseNumber } from '../intake/values/number-value.ts';

/** How a number may be bounded, and how many figures that takes. */
export const BOUND_KINDS = [
  { pick: 'at_least', label: 'at least' },
  { pick: 'below', label: 'below' },
  { pick: 'between', label: 'between' },
] as const;

/** A cell as it is being written. */
export interface DraftCell {
  /** A level, the place of a listed bound, or a kind of bound; empty for anything. */
  readonly pick: string;
  readonly from: string;
  readonly to: string;
  /** What the texts stood for before they were touched: 15 mm read as 0.59 in stays 15 mm. */
  readonly stored?: Bound | undefined;
}

export interface DraftRow {
  /** Stays with the row as it moves. */
  readonly id: number;
  readonly cells: Readonly<Record<string, DraftCell>>;
  readonly say: string;
}

export interface RulesDraft {
  readonly rows: readonly DraftRow[];
  readonly otherwise: string;
}

export const ANYTHING: DraftCell = { pick: '', from: '', to: '' };

type NumberColumn = Extract<DecisionColumn, { kind: 'number' }>;

const shownNumber = (value: number | undefined, { unit }: NumberColumn, lengths: ShownLength): string =>
  value === undefined ? '' : String(Number(shownValue(lengths, value, unit).toFixed(unit ? 2 : 4)));

function draftCell(
  condition: Condition | undefined,
  column: DecisionColumn,
  lengths: ShownLength,
): DraftCell {
  if (condition === undefined) return ANYTHING;
  if (typeof condition === 'string') return { ...ANYTHING, pick: condition };
  if (column.kind === 'level') return ANYTHING;
  const listed = column.options?.findIndex((option) => sameBound(option, condition)) ?? -1;
  if (listed >= 0) return { ...ANYTHING, pick: String(listed) };
  const { at_least, below } = condition;
  const pick = at_least === undefined ? 'below' : below === undefined ? 'at_least' : 'between';
  const [from, to] = pick === 'below' ? [below, undefined] : [at_least, below];
  return {
    pick,
    from: shownNumber(from, column, lengths),
    to: shownNumber(to, column, lengths),
    stored: condition,
  };
}

/** A table as it is written in the cells; ids count from 0. */
export function draftOf(table: DecisionTable, shape: DecisionShape, lengths: ShownLength): RulesDraft {
  return {
    rows: table.rows.map(({ when, say }, id) => ({
      id,
      cells: Object.fromEntries(
        shape.columns.map((column) => [column.name, draftCell(when[column.name], column, lengths)]),
      ),
      say,
    })),
    otherwise: table.otherwise,
  };
}

/** The range of a column in the unit in which it is read. */
function acceptedShown(column: DecisionColumn, lengths: ShownLength): string {
  if (column.kind === 'level' || column.options) return accepted(column);
  const { min, max, unit } = column;
  const ends = [min, max].map((end) => formatNumber(shownValue(lengths, end, unit)));
  return `a number from ${ends.join(' to ')} ${shownUnit(lengths, unit ?? '')}`.trim();
}

type Read = { readonly bound: Bound } | { readonly said: string };

function readBound(cell: DraftCell, column: NumberColumn, lengths: ShownLength): Read {
  if (column.options) {
    const { at_least, below } = column.options[Number(cell.pick)] ?? {};
    return {
      bound: { ...(at_least === undefined ? {} : { at_least }), ...(below === undefined ? {} : { below }) },
    };
  }
  const before = cell.stored;
  const kept = [before?.at_least, before?.below].filter((value) => value !== undefined);
  const read = (text: string): number | null => {
    const same = kept.find((value) => shownNumber(value, column, lengths) === text.trim());
    if (same !== undefined) return same;
    const unit = lengths === 'in' ? 'in' : 'mm';
    const parsed = column.unit === 'mm' ? parseLength(text, unit) : parseNumber(text, 'point');
    const isInside = typeof parsed === 'number' && parsed >= column.min && parsed <= column.max;
    return isInside ? parsed : null;
  };
  const [from, to] = [read(cell.from), cell.pick === 'between' ? read(cell.to) : Number.POSITIVE_INFINITY];
  if (from === null) return { said: cell.from };
  if (to === null) return { said: cell.to };
  if (from >= to) return { said: `${cell.from} to ${cell.to}` };
  if (cell.pick === 'below') return { bound: { below: from } };
  return { bound: cell.pick === 'at_least' ? { at_least: from } : { at_least: from, below: to } };
}

type ReadDraft =
  | { readonly table: DecisionTable; readonly faults: readonly [] }
  | { readonly table: null; readonly faults: readonly DecisionFault[] };

/** What the cells say, or which of them cannot be read: row, column and what is accepted. */
export function readDraft(draft: RulesDraft, shape: DecisionShape, lengths: ShownLength): ReadDraft {
  const faults: DecisionFault[] = [];
  const rows = draft.rows.map(({ cells, say }, at) => {
    const when: Record<string, Condition> = {};
    for (const column of shape.columns) {
      const cell = cells[column.name] ?? ANYTHING;
      if (cell.pick === '') continue;
      if (column.kind === 'level') {
        when[column.name] = cell.pick;
        continue;
      }
      const read = readBound(cell, column, lengths);
      if ('bound' in read) when[column.name] = read.bound;
      else {
        const wanted = acceptedShown(column, lengths);
        const said = read.said.trim() === '' ? 'nothing' : read.said;
        const message = `row ${at + 1}, ${column.label.toLowerCase()} must be ${wanted}: ${said}`;
        faults.push({ row: at + 1, column: column.name, message });
      }
    }
    return { when, say };
  });
  return faults.length > 0
    ? { table: null, faults }
    : checkDecisions({ rows, otherwise: draft.otherwise }, shape);
}

/** Rows in words, in order, the last one for all that is left. */
export function rulesWords(table: DecisionTable, shape: DecisionShape, lengths: ShownLength): string[] {
  const said = (value: string) => shape.outcomes.find((each) => each.value === value)?.label ?? value;
  const rows = table.rows.map(({ when, say }, at) => {
    const parts = shape.columns.flatMap((column) => {
      const condition = when[column.name];
      return condition === undefined
        ? []
        : [`${column.label.toLowerCase()} ${conditionWords(condition, column, lengths)}`];
    });
    return `${at + 1}. ${parts.join(', ') || 'anything'}: ${said(say)}`;
  });
  return [...rows, `${rows.length === 0 ? 'always' : 'otherwise'}: ${said(table.otherwise)}`];
}

/** `at least 15 mm` */
function conditionWords(condition: Condition, column: DecisionColumn, lengths: ShownLength): string {
  if (column.kind === 'level') {
    return column.options.find(({ value }) => value === condition)?.label ?? String(condition);
  }
  if (typeof condition === 'string') return condition;
  const listed = column.options?.find((option) => sameBound(option, condition));
  if (listed) return listed.label;
  const { unit } = column;
  const shown = (value: number | undefined) =>
    value === undefined ? undefined : Number(shownNumber(value, column, lengths));
  const words = boundWords({ at_least: shown(condition.at_least), below: shown(condition.below) });
  return `${words} ${shownUnit(lengths, unit ?? '')}`.trim();
}
