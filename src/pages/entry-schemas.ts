import { z } from 'zod';
import { chartSpec, DATA_NAME } from '../plots/chart-spec.ts';
import { strictObject } from '../plots/strict-object.ts';
import { questionBody, samplesBody } from './question-schema.ts';
import { ownRulesText, rulesChoice, rulesFaults } from './rules-choice.ts';

export const ENTRY_KINDS = [
  'query',
  'column',
  'choice',
  'analysis',
  'findings',
  'chart',
  'table',
  'question',
  'samples',
] as const;
export type EntryKind = (typeof ENTRY_KINDS)[number];

/** Letters, digits and underscores, a letter first; compared without regard to case, as SQL does. */
export const ENTRY_NAME = /^[A-Za-z][A-Za-z0-9_]*$/;

/** Names of the herd's own relations and of database schemas, which no entry may take. */
export const RESERVED_NAMES: ReadonlySet<string> = new Set([
  'foot_visit',
  'trim_cycle',
  'spell',
  'today',
  'spell',
  'foot_visit_all',
  'trim_cycle_all',
  'cohort_cycle',
  'cohort_visit',
  'cohort_cycle_no',
  'cohort_visit_no',
  'visit_row',
  'foot_row',
  'cycle_row',
  'herd_record',
  'horse_row',
  'breed_map',
  'incoming',
  'horse',
  'herd',
  'cohort',
  'main',
  'memory',
  'left_side',
  'right_side',
  'second_herd',
  'temp',
  'system',
  'information_schema',
  'pg_catalog',
]);

const dataName = z
  .string()
  .regex(DATA_NAME, { error: 'must name an entry (`rates`) or a table of one (`rates.per_horse`)' });
const entryName = z.string().regex(ENTRY_NAME, { error: 'must name an entry of this page' });
const scalar = z.union([z.string(), z.number()]);

const isoDate = z.string().regex(/^\d{4}-\d{2}-\d{2}$/, { error: 'must be a date such as 2026-03-09' });

export const frontMatter = strictObject({
  title: z.string().min(1),
  order: z.number().default(1000),
  summary: z.string().default(''),
  /** Keys of the cautions that belong to this page. */
  cautions: z.array(z.string()).default([]),
  /** On a board the sections (`##`) stand side by side where there is room, until a rule (`---`). */
  layout: z.enum(['column', 'board']).default('column'),
  /** Entries that go on paper, with the title and the cautions; all of the page if left out. */
  print: z.array(z.string()).default([]),
});

/** `value` alone, or with the label that people see. */
const option = z.union([
  scalar.transform((value) => ({ value, label: String(value) })),
  strictObject({ value: scalar, label: z.string() }),
]);

const listChoice = strictObject({
  kind: z.literal('list'),
  label: z.string().min(1),
  /** Given here, or read from a query's column. */
  options: z.union([
    z.array(option).min(1),
    strictObject({ of: dataName, value: z.string(), label: z.string().optional() }),
  ]),
  /** Options that stand before those read from a query: `{value: all, label: All breeds}`. */
  also: z.array(option).default([]),
  default: scalar.optional(),
});

const rangeChoice = strictObject({
  kind: z.literal('range'),
  label: z.string().min(1),
  unit: z.string().optional(),
  min: z.number(),
  max: z.number(),
  step: z.number().positive().default(1),
  default: z.number().optional(),
});

const dateChoice = strictObject({
  kind: z.literal('date'),
  label: z.string().min(1),
  min: isoDate.optional(),
  max: isoDate.optional(),
  default: isoDate,
});

const anyChoice = z.discriminatedUnion('kind', [listChoice, rangeChoice, dateChoice, rulesChoice]);

/** The value a choice starts with; null where its options are still to be read from a query. */
export function startingValue(choice: z.output<typeof anyChoice>): string | number | null {
  if (choice.kind === 'date') return choice.default;
  if (choice.kind === 'rules') return ownRulesText(choice);
  if (choice.kind === 'range') return choice.default ?? choice.min;
  if (choice.default !== undefined) return choice.default;
  return Array.isArray(choice.options) ? choice.options[0]!.value : (choice.also[0]?.value ?? null);
}

const choiceBody = anyChoice.check((context) => {
  const choice = context.value;
  const reject = (path: string, message: string) =>
    context.issues.push({ code: 'custom', path: [path], message, input: choice });
  if (choice.kind === 'list' && Array.isArray(choice.options) && choice.default !== undefined) {
    const values = [...choice.also, ...choice.options].map((each) => each.value);
    if (!values.includes(choice.default)) {
      reject('default', `must be one of the options ${values.join(', ')}: ${choice.default}`);
    }
  }
  if (choice.kind === 'rules') {
    for (const { path, message } of rulesFaults(choice)) {
      context.issues.push({ code: 'custom', path, message, input: choice });
    }
  }
  if (choice.kind === 'range') {
    if (choice.min >= choice.max) reject('min', `must be less than max ${choice.max}: ${choice.min}`);
    else if (choice.default !== undefined && (choice.default < choice.min || choice.default > choice.max)) {
      reject('default', `must lie between ${choice.min} and ${choice.max}: ${choice.default}`);
    }
  }
});

/** `use` names the analysis; every other key is an option of it, and `$choice` stands for a choice's value. */
const analysisBody = z.looseObject({ use: z.string().min(1), title: z.string().optional() });

const findingsBody = z.union([
  entryName.transform((of) => ({ of, limit: undefined as number | undefined })),
  strictObject({ of: entryName, limit: z.int().positive().optional() }),
]);

const columnRef = z.union([
  z.string().transform((name) => ({ name })),
  strictObject({
    name: z.string(),
    label: z.string().optional(),
    unit: z.string().optional(),
    digits: z.int().min(0).max(10).optional(),
  }),
]);

const tableBody = strictObject({
  of: dataName,
  columns: z.array(columnRef).min(1).optional(),
  sort: z
    .union([
      z.string().transform((by) => ({ by, order: 'ascending' as const })),
      strictObject({ by: z.string(), order: z.enum(['ascending', 'descending']).default('ascending') }),
    ])
    .optional(),
  limit: z.int().positive().default(20),
  caption: z.string().optional(),
});

/** A derived column: one SQL expression over a relation of the herd, there for this page's queries and analyses. */
const columnBody = strictObject({
  on: z.enum(['foot_visit', 'trim_cycle']),
  expression: z.string().min(1),
  label: z.string().optional(),
  unit: z.string().optional(),
  digits: z.int().min(0).max(10).optional(),
});

export type FrontMatter = z.output<typeof frontMatter>;
export type ChoiceBody = z.output<typeof choiceBody>;
export type ChoiceOption = z.output<typeof option>;
export type AnalysisBody = z.output<typeof analysisBody>;
export type FindingsBody = z.output<typeof findingsBody>;
export type TableBody = z.output<typeof tableBody>;
export type ColumnBody = z.output<typeof columnBody>;

/** YAML bodies by kind; a query's body is SQL. */
export const BODY_SCHEMAS = {
  choice: choiceBody,
  analysis: analysisBody,
  findings: findingsBody,
  chart: chartSpec,
  table: tableBody,
  column: columnBody,
  question: questionBody,
  samples: samplesBody,
} as const;
