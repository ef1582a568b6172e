/** A bound on a number: from `at_least` on, and under `below`; one or both. */
export interface Bound {
  readonly at_least?: number | undefined;
  readonly below?: number | undefined;
}

/** What a column must be: one of its levels, or a number within a bound. */
export type Condition = string | Bound;

export interface DecisionRow {
  /** By column name; a column that is not named may be anything. */
  readonly when: Readonly<Record<string, Condition>>;
  readonly say: string;
}

/** Rows are tried in order and the first that matches decides; where none does, `otherwise`. */
export interface DecisionTable {
  readonly rows: readonly DecisionRow[];
  readonly otherwise: string;
}

export interface Labelled {
  readonly value: string;
  readonly label: string;
}

interface BoundOption extends Bound {
  readonly label: string;
}

/** A column takes one of its levels, or bounds on a number: any between `min` and `max`, or only those listed. */
export type DecisionColumn = {
  readonly name: string;
  readonly label: string;
} & (
  | { readonly kind: 'level'; readonly options: readonly Labelled[] }
  | {
      readonly kind: 'number';
      readonly min: number;
      readonly max: number;
      readonly unit?: string | undefined;
      readonly options?: readonly BoundOption[] | undefined;
    }
);

/** What tables of one kind may say. */
export interface DecisionShape {
  readonly columns: readonly DecisionColumn[];
  readonly outcomes: readonly Labelled[];
}

export const MOST_DECISION_ROWS = 20;

/** A fault of a table: `row` counts from 1, and is null for the row of `otherwise` and for the table as a whole. */
export interface DecisionFault {
  readonly row: number | null;
  readonly column: string | null;
  readonly message: string;
}

type CheckedDecisions =
  | { readonly table: DecisionTable; readonly faults: readonly [] }
  | { readonly table: null; readonly faults: readonly DecisionFault[] };

/** The text in which a table travels: JSON. Of checked tables, whose keys are in the order of the columns, equal ones are equal texts. */
export function decisionText(table: DecisionTable): string {
  return JSON.stringify({
    rows: table.rows.map(({ when, say }) => ({ when, say })),
    otherwise: table.otherwise,
  });
}

/** Reads such a text; what cannot be read is told with its row and column. */
export function readDecisions(text: string, shape: DecisionShape): CheckedDecisions {
  try {
    return checkDecisions(JSON.parse(text), shape);
  } catch {
    return failed([fault(null, null, `must be a decision table written as JSON: ${text.slice(0, 40)}`)]);
  }
}

/** Checks a table of unknown origin against what it may say. */
export function checkDecisions(raw: unknown, shape: DecisionShape): CheckedDecisions {
  if (!isRecord(raw) || !Array.isArray(raw.rows)) {
    return failed([fault(null, null, 'must have rows and otherwise')]);
  }
  if (raw.rows.length > MOST_DECISION_ROWS) {
    return failed([fault(null, null, `must have at most ${MOST_DECISION_ROWS} rows: ${raw.rows.length}`)]);
  }
  const faults: DecisionFault[] = [];
  const rows = raw.rows.map((row: unknown, at): DecisionRow => checkRow(row, at + 1, shape, faults));
  const otherwise = checkOutcome(raw.otherwise, null, shape, faults);
  return faults.length > 0 ? failed(faults) : { table: { rows, otherwise }, faults: [] };
}

function checkRow(raw: unknown, row: number, shape: DecisionShape, faults: DecisionFault[]): DecisionRow {
  const when = isRecord(raw) && isRecord(raw.when) ? raw.when : null;
  if (!isRecord(raw) || !when) {
    faults.push(fault(row, null, 'must have when and say'));
    return { when: {}, say: '' };
  }
  for (const name of Object.keys(when)) {
    if (!shape.columns.some((column) => column.name === name)) {
      const names = shape.columns.map((column) => column.name).join(', ');
      faults.push(fault(row, null, `has no column ${name}: there are ${names}`));
    }
  }
  const conditions: Record<string, Condition> = {};
  for (const column of shape.columns) {
    const asked = when[column.name];
    if (asked === undefined || asked === null) continue;
    const condition = checkCondition(asked, column);
    if (condition === null) faults.push(fault(row, column, `must be ${accepted(column)}: ${said(asked)}`));
    else conditions[column.name] = condition;
  }
  return { when: conditions, say: checkOutcome(raw.say, row, shape, faults) };
}

function checkOutcome(
  raw: unknown,
  row: number | null,
  { outcomes }: DecisionShape,
  faults: DecisionFault[],
): string {
  if (outcomes.some(({ value }) => value === raw)) return raw as string;
  const words = outcomes.map(({ value }) => value).join(' or ');
  const name = row === null ? 'otherwise' : 'say';
  faults.push({ ...fault(row, null, `${name} must be ${words}: ${said(raw)}`), column: name });
  return '';
}

function checkCondition(raw: unknown, column: DecisionColumn): Condition | null {
  if (column.kind === 'level') return column.options.find(({ value }) => value === raw)?.value ?? null;
  if (!isRecord(raw) || Object.keys(raw).some((key) => key !== 'at_least' && key !== 'below')) return null;
  const { at_least, below } = raw;
  const inside = (value: unknown): value is number =>
    typeof value === 'number' && value >= column.min && value <= column.max;
  if (![at_least, below].every((value) => value === undefined || inside(value))) return null;
  if (at_least === undefined && below === undefined) return null;
  if (inside(at_least) && inside(below) && at_least >= below) return null;
  const bound: Bound = {
    ...(inside(at_least) ? { at_least } : {}),
    ...(inside(below) ? { below } : {}),
  };
  return column.options && !column.options.some((option) => sameBound(option, bound)) ? null : bound;
}

export const sameBound = (a: Bound, b: Bound): boolean => a.at_least === b.at_least && a.below === b.below;

/** What a cell of a column takes, in words. */
export function accepted(column: DecisionColumn): string {
  if (column.kind === 'level') return `one of ${column.options.map(({ value }) => value).join(', ')}`;
  if (column.options) return `one of ${column.options.map(boundWords).join(', ')}`;
  return `at least or below a number from ${column.min} to ${column.max}${column.unit ? ` ${column.unit}` : ''}`;
}

/** `at least 12, below 15` */
export function boundWords({ at_least, below }: Bound): string {
  return [
    ...(at_least === undefined ? [] : [`at least ${at_least}`]),
    ...(below === undefined ? [] : [`below ${below}`]),
  ].join(', ');
}

/** Whether a row matches: no condition fails and none hangs on a value that is not known (null). */
export function rowMatches(
  { when }: DecisionRow,
  facts: Readonly<Record<string, string | number | null | undefined>>,
): boolean | null {
  let isSure = true;
  for (const [name, condition] of Object.entries(when)) {
    const holds = conditionHolds(condition, facts[name] ?? null);
    if (holds === false) return false;
    if (holds === null) isSure = false;
  }
  return isSure ? true : null;
}

function conditionHolds(condition: Condition, fact: string | number | null): boolean | null {
  if (fact === null || Number.isNaN(fact)) return null;
  if (typeof condition === 'string') return fact === condition;
  const { at_least = Number.NEGATIVE_INFINITY, below = Number.POSITIVE_INFINITY } = condition;
  return Number(fact) >= at_least && Number(fact) < below;
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const said = (value: unknown): string =>
  value === undefined ? 'missing' : typeof value === 'string' ? value : JSON.stringify(value);

/** `row 2, sole depth must be …` */
function fault(row: number | null, column: DecisionColumn | null, message: string): DecisionFault {
  const place = [...(row === null ? [] : [`row ${row}`]), ...(column ? [column.label.toLowerCase()] : [])];
  return {
    row,
    column: column?.name ?? null,
    message: [place.join(', '), message].filter((part) => part !== '').join(' '),
  };
}

const failed = (faults: readonly DecisionFault[]): CheckedDecisions => ({ table: null, faults });
