import { z } from 'zod';
import { strictObject } from './strict-object.ts';

/** `entry` or `entry.table`: letters, digits and underscores. */
export const DATA_NAME = /^[A-Za-z][A-Za-z0-9_]*(\.[A-Za-z][A-Za-z0-9_]*)?$/;

const dataName = z
  .string()
  .regex(DATA_NAME, { error: 'must name an entry (`rates`) or a table of one (`rates.per_horse`)' });

/** A column of the mark's data, or a constant: a number, or a date as `2026-03-09`. */
const channel = z.union([z.string().min(1), z.number()], { error: 'must be a column name or a number' });

const scalar = z.union([z.string(), z.number(), z.boolean()]);

/** Rows to keep: `column: value`, `column: [values]` or `column: {min, max}`. */
const filter = z.record(
  z.string(),
  z.union([
    scalar,
    z.array(scalar),
    strictObject({ min: z.number().optional(), max: z.number().optional() }),
  ]),
);

const MARKS = ['dot', 'line', 'step', 'band', 'interval', 'rule', 'bar', 'text', 'cell'] as const;

/**
 * One layer. `x1`/`x2` or `y1`/`y2` hold the ends of an interval, a band or a floating bar; `by` gives colour
 * together with shape or dash; `series` splits lines without colour; `text` is the column written by a text mark;
 * `label` is a literal for the key; `fill` a number shown by lightness (cells and bars). A bar's `text` stands inside it
 * where there is room.
 */
const markSpec = strictObject({
  mark: z.enum(MARKS),
  data: dataName.optional(),
  x: channel.optional(),
  y: channel.optional(),
  x1: channel.optional(),
  x2: channel.optional(),
  y1: channel.optional(),
  y2: channel.optional(),
  by: z.string().optional(),
  series: z.string().optional(),
  text: z.string().optional(),
  fill: z.string().optional(),
  /** Palest and darkest value of `fill`; else the least and the most there are. */
  range: z.tuple([z.number(), z.number()]).optional(),
  label: z.string().optional(),
  tone: z.enum(['main', 'soft', 'warn']).default('main'),
  filter: filter.optional(),
});

const axisSpec = strictObject({
  label: z.string().optional(),
  unit: z.string().optional(),
  scale: z.enum(['linear', 'log', 'band', 'date']).optional(),
  /** The axis starts at zero. */
  zero: z.boolean().optional(),
  min: z.number().optional(),
  max: z.number().optional(),
  /** Room for the names beside the axis, px: charts beneath one another line up. */
  room: z.number().min(20).max(400).optional(),
  /** `percent` shows a share of 0.25 as 25 %; `month` a date by its month alone. */
  format: z.enum(['number', 'percent', 'month']).optional(),
  /** Categories in this order, or ordered by a column of the chart's data. */
  order: z.array(scalar).optional(),
  sort: strictObject({
    by: z.string(),
    order: z.enum(['ascending', 'descending']).default('ascending'),
  }).optional(),
});

const facetSpec = z.union([
  z.string().transform((by) => ({ by, columns: undefined as number | undefined })),
  strictObject({ by: z.string(), columns: z.int().min(1).max(8).optional() }),
]);

/** A chart as a page declares it. Nothing is fitted: every number comes from the named tables. */
export const chartSpec = strictObject({
  data: dataName,
  title: z.string().optional(),
  marks: z.array(markSpec).min(1),
  x: axisSpec.default({}),
  y: axisSpec.default({}),
  facet: facetSpec.optional(),
  /** Column of counts, written at the right edge beside each dot: what its value rests on. */
  beside: z.string().optional(),
  /** Whether marks of several series in one category step aside for one another. */
  aside: z.boolean().default(true),
  caption: z.string().optional(),
  height: z.number().min(60).max(4000).optional(),
  alt: z.string().optional(),
});

export type MarkSpec = z.output<typeof markSpec>;
export type AxisSpec = z.output<typeof axisSpec>;
export type ChartSpec = z.output<typeof chartSpec>;

/** Names of all tables a chart reads. */
export function chartData(spec: ChartSpec): string[] {
  return [...new Set([spec.data, ...spec.marks.flatMap((mark) => (mark.data ? [mark.data] : []))])];
}
