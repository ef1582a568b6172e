import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import type { ResultColumn, ResultTable } from '../analysis.ts';
import { allOf } from '../groups.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shareColumn,
  shownEstimate,
  shownShares,
} from '../result-parts.ts';
import { type MeasurementAnswer, TWO_READINGS } from './answer.ts';
import { cycleWhere, type Jump } from './jumps.ts';
import type { Rounding } from './rounding.ts';

/** The error of one reading by measure and practitioner; lengths and angles apart, since a column has one unit. */
export function errorsTable({ models }: MeasurementAnswer, unit: 'mm' | '°'): ResultTable {
  const rows = models
    .filter(({ model }) => model.measured.unit === unit)
    .flatMap(({ model }) => model.errors.map((error) => ({ ...error, measured: model.measured })));
  const who = (level: string): string => (level === 'all' ? 'all practitioners' : level);
  return {
    name: unit === 'mm' ? 'errors' : 'angle_errors',
    title: `Error of one reading, ${unit === 'mm' ? 'lengths' : 'angles'}`,
    relation: 'trim_cycle',
    columns: [
      { name: 'measure', label: 'Measure' },
      { name: 'level', label: 'Read by' },
      ...shownEstimate('Error of one reading (SD)', 2, unit),
      { name: 'two_readings', label: 'Two readings lie within', unit, digits: 2 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      measure: textColumn(rows.map(({ measured }) => measured.label)),
      level: textColumn(rows.map(({ level }) => who(level))),
      ...estimateColumns(rows.map(({ sd }) => sd)),
      two_readings: numberColumn(rows.map(({ sd }) => sd.estimate * TWO_READINGS)),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(
        rows.map(({ where, measured, level }) => ({
          where,
          title: `${measured.label}, read by ${who(level)}`,
        })),
      ),
    }),
  };
}

const ROUNDING_COUNTS: readonly ResultColumn[] = [
  ...SHOWN_COUNTS.slice(0, 2),
  { name: 'n_readings', label: 'Readings', digits: 0 },
];

function roundingColumns(rows: readonly Rounding[]) {
  return {
    measure: textColumn(rows.map(({ measured }) => measured.label)),
    level: textColumn(rows.map(({ level }) => (level === 'all' ? 'all practitioners' : level))),
    step: textColumn(rows.map(({ step }) => step.words)),
    n_horses: numberColumn(rows.map(({ horses }) => horses)),
    n_feet: numberColumn(rows.map(({ feet }) => feet)),
    n_readings: numberColumn(rows.map(({ nReadings }) => nReadings)),
    n_visits: numberColumn(rows.map(({ visits }) => visits)),
    ...behindColumns(
      rows.map(({ where, measured, level }) => ({
        where,
        title: `${measured.label} read, ${level === 'all' ? 'all practitioners' : level}`,
      })),
    ),
  };
}

/** In which steps readings are written, and what that alone adds to their error. */
export function stepsTable({ rounding }: MeasurementAnswer): ResultTable {
  return {
    name: 'steps',
    title: 'In which steps readings are written',
    relation: 'foot_visit',
    columns: [
      { name: 'measure', label: 'Measure' },
      { name: 'level', label: 'Written by' },
      { name: 'step', label: 'Step' },
      { name: 'adds', label: 'Rounding alone adds (SD)', digits: 2 },
      { name: 'unit', label: 'Unit' },
      ...ROUNDING_COUNTS,
    ],
    table: makeTable({
      ...roundingColumns(rounding),
      adds: numberColumn(rounding.map(({ roundingSd }) => roundingSd)),
      unit: textColumn(rounding.map(({ measured }) => measured.unit)),
    }),
  };
}

/** How often readings fall on coarse marks, against what would be if every end were as frequent as the next. */
export function roundEndsTable({ rounding }: MeasurementAnswer): ResultTable {
  const rows = rounding.flatMap((each) => (each.share ? [{ ...each, share: each.share }] : []));
  return {
    name: 'round_ends',
    title: 'Readings on round marks',
    relation: 'foot_visit',
    columns: [
      { name: 'measure', label: 'Measure' },
      { name: 'level', label: 'Written by' },
      { name: 'mark', label: 'Round mark' },
      ...shownShares('Share on it'),
      shareColumn('expected', 'By chance'),
      shareColumn('excess', 'Share above chance'),
      { name: 'index', label: 'Index (100 = chance)', digits: 0 },
      { name: 'index_low', label: 'Index from', digits: 0 },
      { name: 'index_high', label: 'to', digits: 0 },
      ...ROUNDING_COUNTS,
    ],
    table: makeTable({
      ...roundingColumns(rows),
      mark: textColumn(rows.map(({ step }) => `whole ${step.markWords}`)),
      ...estimateColumns(rows.map(({ share }) => share)),
      expected: numberColumn(rows.map(({ expected }) => expected)),
      excess: numberColumn(rows.map(({ share, expected }) => share.estimate - expected)),
      index: numberColumn(rows.map(({ share, expected }) => (100 * share.estimate) / expected)),
      index_low: numberColumn(rows.map(({ share, expected }) => (100 * share.low) / expected)),
      index_high: numberColumn(rows.map(({ share, expected }) => (100 * share.high) / expected)),
    }),
  };
}

/** The same four columns for whatever names one foot's stretch of time. */
function stretchColumns(rows: readonly Pick<Jump, 'horse' | 'name' | 'foot' | 'fromDay' | 'toDay'>[]) {
  return {
    horse_id: textColumn(rows.map(({ horse }) => horse)),
    horse_name: textColumn(rows.map(({ name }) => name)),
    foot: textColumn(rows.map(({ foot }) => foot)),
    visit_date: dayColumn(rows.map(({ fromDay }) => fromDay)),
    next_date: dayColumn(rows.map(({ toDay }) => toDay)),
    ...behindColumns(
      rows.map((row) => ({ where: cycleWhere(row), title: `${row.name ?? row.horse}, ${row.foot}` })),
    ),
  };
}

const STRETCH: readonly ResultColumn[] = [
  { name: 'horse_id', label: 'Horse' },
  { name: 'horse_name', label: 'Name' },
  { name: 'foot', label: 'Foot' },
  { name: 'visit_date', label: 'Trimmed on' },
  { name: 'next_date', label: 'Read again on' },
];

/** Changes that a foot's own growth does not explain, the furthest first. */
export function jumpsTable({ models, options }: MeasurementAnswer, unit: 'mm' | '°'): ResultTable {
  const rows = models
    .flatMap(({ jumps }) => jumps.shown)
    .filter((jump) => jump.unit === unit)
    .sort((a, b) => Math.abs(b.spreads) - Math.abs(a.spreads));
  return {
    name: unit === 'mm' ? 'jumps' : 'angle_jumps',
    title: `Changes beyond ${options.beyond} robust SDs of what the foot’s own growth would give`,
    relation: 'trim_cycle',
    columns: [
      ...STRETCH,
      { name: 'measure', label: 'Measure' },
      { name: 'moved', label: 'Change read', unit, digits: 1 },
      { name: 'expected', label: 'Change expected', unit, digits: 1 },
      { name: 'beyond', label: 'SDs off', digits: 1 },
    ],
    table: makeTable({
      ...stretchColumns(rows),
      measure: textColumn(rows.map(({ label }) => label)),
      moved: numberColumn(rows.map(({ moved }) => moved)),
      expected: numberColumn(rows.map(({ expected }) => expected)),
      beyond: numberColumn(rows.map(({ spreads }) => spreads)),
    }),
  };
}

/** Marks that seem to have moved up. */
export function marksUpTable({ marksUp }: MeasurementAnswer): ResultTable {
  return {
    name: 'marks_up',
    title: 'Marks that seem to have moved up',
    relation: 'trim_cycle',
    columns: [...STRETCH, { name: 'moved', label: 'Mark moved', unit: 'mm', digits: 1 }],
    table: makeTable({
      ...stretchColumns(marksUp),
      moved: numberColumn(marksUp.map(({ movedMm }) => movedMm)),
    }),
  };
}

/** The reach of a horse's growth interval, read once and read twice, by its trim cycles. */
export function twiceTable({ twice, models }: MeasurementAnswer): ResultTable {
  const rows = (twice?.typical ?? []).flatMap(({ cycles, now, twice: then }) => [
    { cycles, how: 'read once', reach: now },
    { cycles, how: 'read twice', reach: then },
  ]);
  const toe = models.find(({ model: { measured } }) => measured.key === 'toe')?.model;
  const counts = toe?.counts ?? { horses: 0, feet: 0, cycles: 0 };
  return {
    name: 'twice',
    title: 'How far a horse’s growth interval reaches either side',
    relation: 'trim_cycle',
    columns: [
      { name: 'cycles', label: 'Trim cycles on each foot', digits: 0 },
      { name: 'how', label: 'Every length' },
      { name: 'reach', label: 'Interval reaches either side', unit: 'mm per 30 days', digits: 2 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      cycles: numberColumn(rows.map(({ cycles }) => cycles)),
      how: textColumn(rows.map(({ how }) => how)),
      reach: numberColumn(rows.map(({ reach }) => reach)),
      ...countColumns(rows.map(() => counts)),
      ...behindColumns(
        rows.map(() => ({ where: allOf(toe?.where ?? null), title: 'Toe growth, all horses' })),
      ),
    }),
  };
}
