import '../no-eval.ts';
import { z } from 'zod';
import { type ColumnName, FOOT_VISIT, isColumnName } from '../../herd/dictionary.ts';
import { PROBLEM_KEYS } from '../../herd/problems.ts';
import { FEET } from '../../herd/vocabularies.ts';
import type { Mapping, RememberedMapping } from '../../intake/mapping.ts';
import type { Amendment } from '../../sheet/amendment.ts';
import type { DerivedColumn } from '../../sheet/derived-column.ts';
import { COHORT_COLUMNS, type Cohort, type CohortColumn } from '../cohort-choice.ts';
import type { SheetColumn } from '../sheet-service.ts';
import type { SavedCohort } from '../store/kept.ts';

/** What the parts of a study file look like. Nothing in one is believed before it fits. */
export const STUDY_FORMAT = 'growout-study';
/** Grows when an older program could no longer read the file. */
export const STUDY_VERSION = 1;

const column = z.custom<ColumnName>(
  (name) => typeof name === 'string' && isColumnName(name),
  'is no column of the data dictionary',
);
const foot = z.enum(FEET);
const unit = z.enum(['mm', 'cm', 'in', 'deg', 'kg', 'lb']);
const kind = z.enum(['visits', 'horses']);
const dateOrder = z.enum(['iso', 'day-first', 'month-first']);
const decimal = z.enum(['point', 'comma']);
const count = z.number().int().nonnegative();
const stored = z.union([z.string(), z.number(), z.boolean(), z.null()]);
const texts = z.array(z.string());

const dateEvidence = z.object({
  sure: count,
  onlyDayFirst: count,
  onlyMonthFirst: count,
  both: count,
  unreadable: count,
  examples: z.object({ onlyDayFirst: texts, onlyMonthFirst: texts, both: texts }),
});
const order = z.union([dateOrder, z.literal('ask')]);

const choice = z.object({
  source: z.string(),
  target: column.nullable(),
  foot: foot.nullable(),
  unit: unit.nullable(),
  chosen: z.array(z.enum(['target', 'foot', 'unit'])).exactOptional(),
});

const mappingSchema: z.ZodType<Mapping> = z.object({
  kind,
  columns: z.array(
    choice.extend({
      confidence: z.enum(['name', 'synonym', 'guess', 'none', 'user']),
      why: z.string(),
      unitWhy: z.string().exactOptional(),
      seen: z
        .object({ bare: z.array(z.tuple([z.number(), count])), fractions: count, stating: count })
        .exactOptional(),
      dates: z.object({ order, evidence: dateEvidence, why: z.string() }).exactOptional(),
      warning: z.string().nullable(),
      examples: texts,
    }),
  ),
  dateOrder: order,
  dateEvidence,
  dateWhy: z.string(),
  decimal,
  decimalWhy: z.string(),
  signature: z.string(),
  dateChosen: z.boolean().exactOptional(),
  notes: texts.exactOptional(),
});

export const rememberedSchema: z.ZodType<RememberedMapping[]> = z.array(
  z.object({
    signature: z.string(),
    kind,
    columns: z.array(choice),
    decimal,
    dateOrder: dateOrder.nullable(),
    dateChosen: z.boolean().exactOptional(),
  }),
);

export const amendmentSchema: z.ZodType<Amendment> = z.object({
  id: z.string(),
  at: z.iso.datetime(),
  batch: z.string(),
  by: z.string().nullable(),
  reason: z.string().nullable(),
  deed: z.discriminatedUnion('kind', [
    z.object({ kind: z.literal('change'), row: z.string(), column, old: stored, value: stored }),
    z.object({
      kind: z.literal('add'),
      row: z.string(),
      values: z.partialRecord(z.enum(FOOT_VISIT.map(({ name }) => name)), stored),
      mends: z.object({ file: z.string(), line: count, foot: z.string().nullable() }).nullable(),
    }),
    z.object({ kind: z.literal('strike'), row: z.string() }),
    z.object({ kind: z.literal('undo'), of: texts }),
  ]),
});

const sheetKind = z.enum([
  'text',
  'day',
  'length',
  'angle',
  'grade',
  'level',
  'boolean',
  'year',
  'mass',
  'derived',
] as const satisfies readonly SheetColumn['kind'][]);

/** A condition in SQL is for the engine to judge. */
const cohortSchema: z.ZodType<Cohort> = z.object({
  levels: z.partialRecord(z.enum(Object.keys(COHORT_COLUMNS) as CohortColumn[]), texts),
  from: z.number().nullable(),
  to: z.number().nullable(),
  conditions: z
    .array(
      z.object({
        column: z.string(),
        test: z.enum(['is', 'is not', 'contains', 'at least', 'at most', 'missing', 'present']),
        value: z.string().nullable(),
        label: z.string(),
        kind: sheetKind,
      }),
    )
    .exactOptional(),
  histories: z
    .array(z.object({ problem: z.enum(PROBLEM_KEYS), when: z.enum(['before', 'ever', 'never']) }))
    .exactOptional(),
  sql: z.string().exactOptional(),
});

export const cohortsSchema: z.ZodType<SavedCohort[]> = z.array(
  z.object({ name: z.string(), cohort: cohortSchema }),
);

export const derivedSchema: z.ZodType<DerivedColumn[]> = z.array(
  z.object({
    name: z.string(),
    label: z.string(),
    expression: z.string(),
    on: z.enum(['foot_visit', 'trim_cycle']),
    unit: z.string().exactOptional(),
    digits: z.number().int().min(0).max(9).exactOptional(),
  }),
);

export const settingsSchema = z.record(z.string(), z.json());

/** A part of the archive, with what it must come to when unpacked. */
const part = z.object({ path: z.string(), size: count, crc32: count });

export const manifestSchema = z.object({
  format: z.literal(STUDY_FORMAT),
  version: z.number().int().min(1),
  program: z.string(),
  created: z.iso.datetime(),
  /** Null: no records of the user's own. */
  hemisphere: z.enum(['north', 'south']).nullable(),
  files: z.array(part.extend({ name: z.string(), mapping: mappingSchema })),
  pages: z.array(part.extend({ id: z.string().min(1).max(200) })),
  lists: z.array(
    part.extend({
      path: z.enum([
        'amendments.jsonl',
        'cohorts.json',
        'derived-columns.json',
        'mappings.json',
        'settings.json',
      ]),
    }),
  ),
});
export type Manifest = z.infer<typeof manifestSchema>;
export type ListPath = Manifest['lists'][number]['path'];
