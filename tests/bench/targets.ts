import { spreadOf } from './measure.ts';
import type { Measurement, PartResult } from './results.ts';
import { figure, tiny, whole } from './words.ts';

export interface TargetLine {
  readonly what: string;
  readonly target: string;
  /** Empty where it was not measured. */
  readonly measured: string;
  readonly met: boolean | null;
}

const MILLION = 1_000_000;
const HUNDRED_THOUSAND = 100_000;

interface Found {
  readonly rows: number;
  readonly measurement: Measurement;
}

function every(results: readonly PartResult[], prefix: string): Found[] {
  return results.flatMap(({ rows, measurements }) =>
    measurements
      .filter(({ key }) => key === prefix || key.startsWith(prefix.endsWith(' ') ? prefix : `${prefix} `))
      .map((measurement) => ({ rows, measurement })),
  );
}

const median = ({ values }: Pick<Measurement, 'values'>): number => spreadOf(values).median;

/** Here over beside: above 1 where this program takes longer. */
export const slower = (measurement: Measurement): number | null =>
  measurement.beside ? median(measurement) / median(measurement.beside) : null;

/** The largest of some figures, by size of herd, each size one line. */
function worstBySize(
  found: readonly Found[],
  {
    what,
    target,
    of,
    said,
    met,
  }: {
    readonly what: string;
    readonly target: string;
    readonly of: (measurement: Measurement) => number | null;
    readonly said: (value: number, measurement: Measurement) => string;
    readonly met: (value: number, rows: number) => boolean;
  },
): TargetLine[] {
  const sizes = [...new Set(found.map(({ rows }) => rows))].sort((a, b) => a - b);
  const lines = sizes.flatMap((rows): TargetLine[] => {
    const figures = found
      .filter((each) => each.rows === rows)
      .flatMap(({ measurement }) => {
        const value = of(measurement);
        return value === null ? [] : [{ value, measurement }];
      })
      .sort((a, b) => b.value - a.value);
    const worst = figures[0];
    if (!worst) return [];
    const { value, measurement } = worst;
    return [
      {
        what: `${what}, ${whole(rows)} rows`,
        target,
        measured: said(value, measurement),
        met: met(value, rows),
      },
    ];
  });
  return lines.length > 0 ? lines : [{ what, target, measured: '', met: null }];
}

function slowerBy(results: readonly PartResult[], key: string, what: string, limit: number): TargetLine[] {
  return worstBySize(every(results, key), {
    what,
    target: `at most ${limit} ×`,
    of: slower,
    said: (value, measurement) => `${figure(value)} ×${key.endsWith(' ') ? ` (${measurement.what})` : ''}`,
    met: (value) => value <= limit,
  });
}

/** How many times as fast as R. */
function fasterThanR(results: readonly PartResult[], key: string, what: string, limit: number): TargetLine {
  const target = `at least ${limit} ×`;
  const measurement = every(results, key)[0]?.measurement;
  const ratio = measurement ? slower(measurement) : null;
  if (ratio === null) return { what, target, measured: '', met: null };
  return { what, target, measured: `${figure(1 / ratio)} ×`, met: 1 / ratio >= limit };
}

function underMs(found: readonly Found[], what: string, limitOf: (rows: number) => number): TargetLine[] {
  return found
    .filter(({ rows }) => limitOf(rows) < Number.POSITIVE_INFINITY)
    .map(({ rows, measurement }) => ({
      what: what.replace('%', whole(rows)),
      target: `under ${whole(limitOf(rows))} ms`,
      measured: `${figure(median(measurement))} ms`,
      met: median(measurement) < limitOf(rows),
    }));
}

function cohortChanges(results: readonly PartResult[]): TargetLine[] {
  return [HUNDRED_THOUSAND, MILLION].flatMap((rows) => {
    const limit = rows === MILLION ? 1000 : 150;
    return worstBySize(
      every(results, 'browser cohort ').filter((found) => found.rows === rows),
      {
        what: 'Change to a cohort never seen before until every plot of the page is redrawn',
        target: `under ${whole(limit)} ms on every page`,
        of: median,
        said: (value, measurement) => `${figure(value)} ms (${measurement.what})`,
        met: (value) => value < limit,
      },
    );
  });
}

function analysesGrow(results: readonly PartResult[]): TargetLine {
  const at = (rows: number): Map<string, number> =>
    new Map(
      every(results, 'analysis ')
        .filter((found) => found.rows === rows)
        .map(({ measurement }) => [measurement.key, median(measurement)]),
    );
  const [small, large] = [at(HUNDRED_THOUSAND), at(MILLION)];
  const ratios = [...small]
    .flatMap(([key, ms]) => (large.has(key) ? [{ key, ratio: large.get(key)! / ms }] : []))
    .sort((a, b) => b.ratio - a.ratio);
  const [worst] = ratios;
  return {
    what: 'Any analysis, from 100,000 to 1,000,000 rows',
    target: 'at most 12 ×',
    measured: worst ? `${figure(worst.ratio)} × (${worst.key.replace('analysis ', '')})` : '',
    met: worst ? worst.ratio <= 12 : null,
  };
}

function criterion(results: readonly PartResult[]): TargetLine {
  const apart = every(results, 'estimator growth')[0]?.measurement.apart ?? [];
  const relative = apart.find(({ of }) => of === 'REML criterion, relative difference')?.value;
  const absolute = apart.find(({ of }) => of === 'REML criterion, here less R')?.value;
  return {
    what: 'REML criterion against lme4',
    target: 'to 1e-6',
    measured:
      relative === undefined || absolute === undefined
        ? ''
        : `${tiny(relative)} relative, ${tiny(absolute)} absolute`,
    met: relative === undefined ? null : relative <= 1e-6,
  };
}

function oneTab(results: readonly PartResult[]): TargetLine {
  const rows = 5 * MILLION;
  const at = (key: string): number | null => {
    const found = every(results, key).find((each) => each.rows === rows);
    return found ? median(found.measurement) : null;
  };
  const peaks = every(results, 'browser memory ').filter((each) => each.rows === rows);
  const memory = peaks.length > 0 ? Math.max(...peaks.map(({ measurement }) => median(measurement))) : null;
  const failed = at('browser failed');
  return {
    what: `${whole(rows)} rows: every page works in one tab`,
    target: 'under 3 GB',
    measured:
      memory === null
        ? ''
        : `${figure(memory / 1000)} GB, ${failed === null ? 'not every page opened' : `${failed} pages failed`}`,
    met: memory === null ? null : memory < 3000 && failed === 0,
  };
}

function scriptBytes(results: readonly PartResult[]): TargetLine {
  const found = every(results, 'browser script before').at(-1)?.measurement;
  return {
    what: 'Application JavaScript, gzip, before the engine',
    target: 'under 350 kB',
    measured: found ? `${figure(median(found))} kB` : '',
    met: found ? median(found) < 350 : null,
  };
}

/** Every target with what was measured of it. */
export function targetLines(results: readonly PartResult[]): TargetLine[] {
  const exact = underMs(
    every(results, 'estimator exact'),
    'Exact two-state form, clustered errors',
    () => 1000,
  );
  return [
    ...slowerBy(results, 'intake parquet', 'Parquet intake against native DuckDB', 3),
    ...slowerBy(results, 'intake csv', 'CSV intake against native DuckDB, typed', 4),
    ...slowerBy(results, 'relation trim_cycle', '`trim_cycle` against native DuckDB', 2.5),
    ...slowerBy(results, 'sql ', 'SQL of the slowest page against native DuckDB', 2.5),
    fasterThanR(results, 'estimator growth', 'Growth by REML, 20,000 horses, against lme4', 50),
    criterion(results),
    fasterThanR(results, 'estimator turnbull', 'Turnbull against survfit', 300),
    ...(exact.length > 0
      ? exact
      : [
          {
            what: 'Exact two-state form, clustered errors',
            target: 'under 1,000 ms',
            measured: '',
            met: null,
          },
        ]),
    fasterThanR(results, 'estimator markov', 'Two-state Markov against msm', 100),
    fasterThanR(
      results,
      'estimator cloglog',
      'Complementary log-log, clustered, against glm and sandwich',
      10,
    ),
    ...cohortChanges(results),
    analysesGrow(results),
    oneTab(results),
    scriptBytes(results),
  ];
}
