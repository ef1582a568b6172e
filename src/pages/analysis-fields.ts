import { GROUPINGS } from '../analyses/groups.ts';
import { PROBLEMS } from '../herd/problems.ts';

/** One option of an analysis as a form shows it. */
export type OptionField = {
  readonly name: string;
  readonly label: string;
} & (
  | {
      readonly kind: 'one-of';
      readonly values: readonly OptionValue[];
      readonly initial: string;
      /** It also takes names that are not listed: those of derived columns. */
      readonly isOpen: boolean;
    }
  | { readonly kind: 'some-of'; readonly values: readonly OptionValue[]; readonly initial: readonly string[] }
  | {
      readonly kind: 'number';
      readonly min: number | null;
      readonly max: number | null;
      readonly initial: number | null;
    }
  | { readonly kind: 'numbers'; readonly initial: readonly number[] }
  | { readonly kind: 'text'; readonly initial: string }
);

interface OptionValue {
  readonly value: string;
  readonly label: string;
}

const LABELS: Readonly<Record<string, string>> = {
  by: 'Split by',
  adjust: 'Compared at the herd’s own mix of',
  problem: 'Problem',
  problems: 'Problems',
  measure: 'What is measured',
  weeks: 'Weeks to report, with commas between',
  horizons: 'Days to report, with commas between',
  replicates: 'Resampled herds for the bands',
  seed: 'Starting number of the resampling',
  at: 'Which visits',
  rule: 'The rule: a choice of kind rules',
  alike_by: 'Feet are alike by',
  sole_classes_mm: 'Classes of sole depth part at (mm)',
  latest_days: 'Days before the last visit on record that still count as seen',
};

const WORDS: Readonly<Record<string, string>> = {
  ...GROUPINGS,
  ...Object.fromEntries(PROBLEMS.map(({ key, label }) => [key, label])),
  sole: 'sole depth',
  tender: 'tenderness at the trim',
  none: 'nothing: all together',
  quarter: 'season of each year',
  latest: 'each foot once, as last graded',
  every: 'every graded visit',
};

const plain = (name: string) => name.replaceAll('_', ' ');
const labelOf = (name: string) => LABELS[name] ?? plain(name).replace(/^./, (letter) => letter.toUpperCase());
const optionValue = (value: unknown): OptionValue => ({
  value: String(value),
  label: WORDS[String(value)] ?? plain(String(value)),
});

/** The part of JSON Schema (draft 2020-12) that options are written in. */
export interface JsonSchema {
  readonly type?: string;
  readonly enum?: readonly unknown[];
  readonly const?: unknown;
  readonly anyOf?: readonly JsonSchema[];
  readonly items?: JsonSchema;
  readonly default?: unknown;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly properties?: Readonly<Record<string, JsonSchema>>;
}

/** Every value that a schema lists; null when it also takes others. */
function listed(schema: JsonSchema): unknown[] | null {
  if (schema.const !== undefined) return [schema.const];
  if (schema.enum) return [...schema.enum];
  if (!schema.anyOf) return null;
  const branches = schema.anyOf.map(listed).filter((values) => values !== null);
  return branches.length > 0 ? branches.flat() : null;
}

const takesText = (schema: JsonSchema): boolean =>
  schema.anyOf?.some(takesText) ?? (schema.type === 'string' && !listed(schema));

function fieldOf(name: string, schema: JsonSchema): OptionField {
  const base = { name, label: labelOf(name) };
  const values = listed(schema);
  if (values) {
    const initial = String(schema.default ?? values[0]);
    return { ...base, kind: 'one-of', values: values.map(optionValue), initial, isOpen: takesText(schema) };
  }
  if (schema.type === 'array' && schema.items) {
    const some = listed(schema.items);
    const initial = Array.isArray(schema.default) ? schema.default : [];
    if (some)
      return { ...base, kind: 'some-of', values: some.map(optionValue), initial: initial.map(String) };
    if (schema.items.type === 'number' || schema.items.type === 'integer') {
      return { ...base, kind: 'numbers', initial: initial.map(Number) };
    }
  }
  if (schema.type === 'number' || schema.type === 'integer') {
    const bound = (value: number | undefined) =>
      value === undefined || Math.abs(value) > 1e9 ? null : value;
    const initial = typeof schema.default === 'number' ? schema.default : null;
    return { ...base, kind: 'number', min: bound(schema.minimum), max: bound(schema.maximum), initial };
  }
  return { ...base, kind: 'text', initial: typeof schema.default === 'string' ? schema.default : '' };
}

/** An analysis as one who puts it on a page must know it. */
export interface AnalysisDescription {
  readonly name: string;
  readonly question: string;
  /** Of its options, as they are written on a page. */
  readonly schema: JsonSchema;
}

/** The options of an analysis, read from its own schema: a form needs no list of its own. */
export function optionFields({ schema }: AnalysisDescription): OptionField[] {
  return Object.entries(schema.properties ?? {}).map(([name, each]) => fieldOf(name, each));
}
