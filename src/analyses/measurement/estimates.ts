import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import type { ResultTable } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { levelName } from '../groups.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { lowered, type MeasurementAnswer, TWO_READINGS } from './answer.ts';
import { canTellJumps } from './jumps.ts';
import type { Rounding } from './rounding.ts';

type Figure = Pick<Estimate, 'estimate'> &
  Partial<{ stdError: number | null; low: number | null; high: number | null }>;

const row = (
  term: string,
  level: string,
  { estimate, stdError = null, low = null, high = null }: Figure,
  unit: string,
  counts: Counts,
  behind: string,
  over: Partial<TidyRow> = {},
): TidyRow => ({
  problem: null,
  term,
  level,
  estimate,
  stdError,
  low,
  high,
  unit,
  counts,
  behind,
  behindTitle: `${term}, ${level}`,
  ...over,
});

const levelWords = (level: string): string => (level === 'all' ? 'all' : levelName('practitioner_id', level));

const times = ({ estimate, low, high }: Estimate, factor: number): Figure => ({
  estimate: estimate * factor,
  low: low * factor,
  high: high * factor,
});

/** Tidy: errors of reading, repeats, round ends, changes out of line, and what a second reading would buy. */
export function measurementEstimates(answer: MeasurementAnswer): ResultTable {
  return tidyTable(
    'measurement',
    'How well the feet are measured',
    [
      ...errorRows(answer),
      ...repeatRows(answer),
      ...answer.rounding.flatMap(roundRows),
      ...jumpRows(answer),
      ...twiceRows(answer),
    ],
    3,
  );
}

function errorRows({ models }: MeasurementAnswer): TidyRow[] {
  return models.flatMap(({ model: { measured, errors } }) =>
    errors.flatMap(({ level, sd, counts, where }): TidyRow[] => {
      const what = lowered(measured.label);
      return [
        row(`error of one reading (SD), ${what}`, levelWords(level), sd, measured.unit, counts, where),
        row(
          `two readings of a foot lie within, ${what}`,
          levelWords(level),
          times(sd, TWO_READINGS),
          measured.unit,
          counts,
          where,
        ),
      ];
    }),
  );
}

function repeatRows({ repeats }: MeasurementAnswer): TidyRow[] {
  return repeats.flatMap(({ measured: { label, unit }, sd, agreement, counts, where }): TidyRow[] => {
    const tell = (term: string, figure: Figure): TidyRow =>
      row(`${term}, ${lowered(label)} read again`, 'all', figure, unit, counts, where);
    return [
      ...(isUnavailable(sd) || !(sd.withinSd.estimate > 0)
        ? []
        : [tell('error of one reading (SD)', sd.withinSd)]),
      ...(isUnavailable(agreement)
        ? []
        : [
            tell('mean difference', agreement.bias),
            tell('lower limit of agreement', agreement.lowerLimit),
            tell('upper limit of agreement', agreement.upperLimit),
          ]),
    ];
  });
}

function roundRows(rounding: Rounding): TidyRow[] {
  const { measured, level, step, share, expected, where, horses, feet, visits } = rounding;
  // Visits with a reading stand where trim cycles otherwise do.
  const counts = { horses, feet, cycles: visits };
  if (!share) return [];
  const tell = (term: string, figure: Figure, unit: string): TidyRow =>
    row(`${term}, ${lowered(measured.label)}`, levelWords(level), figure, unit, counts, where, {
      behindRelation: 'foot_visit',
    });
  return [
    tell(`readings on whole ${step.markWords}`, share, 'share'),
    tell(`readings on whole ${step.markWords} against chance`, times(share, 1 / expected), 'ratio'),
  ];
}

function jumpRows({ models, options }: MeasurementAnswer): TidyRow[] {
  return models
    .filter(({ model }) => canTellJumps(model))
    .map(({ model, jumps }) =>
      row(
        `changes beyond ${options.beyond} robust SDs, ${lowered(model.measured.label)}`,
        'all',
        { estimate: jumps.total },
        'changes',
        model.counts,
        model.where,
      ),
    );
}

function twiceRows({ models, twice }: MeasurementAnswer): TidyRow[] {
  const model = models.find(({ model: { measured } }) => measured.key === 'toe')?.model;
  if (!model || !twice?.herd) return [];
  const { now, twice: then, ratio } = twice.herd;
  const tell = (term: string, estimate: number, unit: string): TidyRow =>
    row(term, 'all', { estimate }, unit, model.counts, model.where);
  return [
    tell('reach of the middle horse’s growth interval, read once', now, 'mm per 30 days'),
    tell('reach of the middle horse’s growth interval, read twice', then, 'mm per 30 days'),
    tell('reach read twice over reach read once', ratio, 'ratio'),
  ];
}
