import { type BreedType, type Moisture, type Terrain, TRUTH } from '../../data/truth.ts';
import { gatherIntervals, intervalSql } from '../../src/analyses/interval-effect/data.ts';
import { optionsSchema } from '../../src/analyses/interval-effect/options.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { numbers, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { coefficient } from '../../src/stats/predictor-fit.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';
import type { Measured } from './measured.ts';
import { estimatesOf, runAnalysis } from './run-analysis.ts';

const INTERVAL = optionsSchema.parse({ weeks: [6, 10] });
const MOISTURES = ['dry', 'mixed', 'wet'] as const satisfies readonly Moisture[];

/** Separation at the next visit by the days between: the exponent three ways, and the risk, which is averaged. */
export async function measureInterval(engine: Engine): Promise<Measured[]> {
  const found = estimatesOf((await runAnalysis(engine, 'interval-effect', INTERVAL)).tables);
  const truth = TRUTH.separation.exponent;
  const risk = await trueRisk(engine);
  return [
    ...['adjusted', 'within-horse', 'crude'].map((comparison) => ({
      quantity: `interval exponent, ${comparison}`,
      truth,
      found: found('exponent of the interval', comparison),
    })),
    {
      quantity: 'interval exponent, regression on onsets seen, adjusted',
      truth,
      found: found('exponent, regression on log days', 'adjusted'),
    },
    ...INTERVAL.weeks.map((weeks) => ({
      quantity: `risk of separation at ${weeks} weeks, adjusted`,
      truth: risk(weeks * 7),
      found: found(`risk at the next visit, ${weeks} weeks`, 'adjusted'),
    })),
  ];
}

/** Mean over the herd's cycles that began clear of the true chance to be affected after so many days. */
async function trueRisk(engine: Engine): Promise<(days: number) => number> {
  const { start, groups } = gatherIntervals(await engine.query(intervalSql(INTERVAL)));
  const cells = new Map<string, number>();
  start.forEach((present, row) => {
    if (present) return;
    const level = (name: 'breed_type' | 'moisture' | 'terrain') =>
      groups.get(name)!.levels[groups.get(name)!.codes[row]!]!;
    const cell = [level('breed_type'), level('moisture'), level('terrain')].join(' ');
    cells.set(cell, (cells.get(cell) ?? 0) + 1);
  });
  return (days) => {
    let [sum, n] = [0, 0];
    for (const [cell, count] of cells) {
      const [breed, moisture, terrain] = cell.split(' ') as [BreedType, Moisture, Terrain];
      sum += count * chance(breed, moisture, terrain, days);
      n += count;
    }
    return sum / n;
  };
}

/** Affected after so many days from clear: onset by the clock since the trim, clearing at a steady rate; Simpson's rule. */
function chance(breed: BreedType, moisture: Moisture, terrain: Terrain, days: number): number {
  const { onsetRatio, clearingRatio, hazardAt42Days, exponent, clearingPerYear } = TRUTH.separation;
  const level =
    hazardAt42Days *
    onsetRatio.breedType[breed] *
    onsetRatio.moisture[moisture] *
    onsetRatio.terrain[terrain];
  const clearing =
    (clearingPerYear * clearingRatio.breedType[breed] * clearingRatio.moisture[moisture]) / 365.25;
  const total = (t: number) => level * (t / 42) ** exponent;
  const inside = (t: number) =>
    ((level * exponent * t ** (exponent - 1)) / 42 ** exponent) *
    Math.exp(-(total(days) - total(t)) - clearing * (days - t));
  const steps = 2000;
  let sum = inside(0) + inside(days);
  for (let i = 1; i < steps; i++) sum += (i % 2 === 0 ? 2 : 4) * inside((i * days) / steps);
  return (sum * days) / steps / 3;
}

/** Onset and clearing of cracks by moisture, as the shipped analysis gives them: its model is the truth, or nearly. */
export async function measureCracks(engine: Engine): Promise<Measured[]> {
  const found = estimatesOf(
    (await runAnalysis(engine, 'onset-clearing', { problem: 'crack', by: 'moisture' })).tables,
  );
  const { onsetPerYear, injuryPerYear, crackAfterInjury, clearingPerYear } = TRUTH.crack;
  return MOISTURES.flatMap((moisture) => [
    {
      quantity: `crack onset a year, ${moisture}`,
      truth: onsetPerYear[moisture] + injuryPerYear * crackAfterInjury,
      found: found('onset', moisture),
    },
    {
      quantity: `crack clearing a year, ${moisture}`,
      truth: clearingPerYear,
      found: found('clearing', moisture),
    },
  ]);
}

/** Frog infection, whose clearing is faster where it was treated at the trim: the estimator with that among its terms. */
export async function measureFrog(engine: Engine): Promise<Measured[]> {
  const table = await engine.query(`
    SELECT horse_id, days, moisture, antifungal::INTEGER AS treated,
      frog_infection_start::INTEGER AS present_start, frog_infection_end::INTEGER AS present_end
    FROM trim_cycle
    WHERE flag IS NULL AND frog_infection_start IS NOT NULL AND frog_infection_end IS NOT NULL
      AND moisture IS NOT NULL AND antifungal IS NOT NULL
    ORDER BY horse_id, foot_key, visit_date`);
  const moisture = texts(table, 'moisture');
  const treated = numbers(table, 'treated');
  const horses = new Map(texts(table, 'horse_id').map((id, i) => [id, i]));
  const one = (row: number) => MOISTURES.map((level) => (moisture[row] === level ? 1 : 0));
  const fit = fitTwoStateMarkov({
    start: numbers(table, 'present_start'),
    end: numbers(table, 'present_end'),
    time: numbers(table, 'days').map((d) => d / 365.25),
    onset: Float64Array.from(moisture.flatMap((_, row) => one(row))),
    onsetTerms: MOISTURES,
    clearing: Float64Array.from(moisture.flatMap((_, row) => [...one(row), treated[row]!])),
    clearingTerms: [...MOISTURES, 'treated'],
    cluster: texts(table, 'horse_id').map((id) => horses.get(id)!),
  });
  const { onsetPerYear, clearingPerYear, clearingRatioTreated } = TRUTH.frogInfection;
  const truths = [
    ...MOISTURES.map((m) => [`frog infection, log onset a year, ${m}`, onsetPerYear[m]] as const),
    ...MOISTURES.map((m) => [`frog infection, log clearing a year, ${m}`, clearingPerYear[m]] as const),
    ['frog infection, log ratio of clearing when treated', clearingRatioTreated] as const,
  ];
  return truths.map(([quantity, truth], j) => {
    const found = isUnavailable(fit) ? null : coefficient(fit, j);
    return {
      quantity,
      truth: Math.log(truth),
      found: found?.kind === 'estimated' ? { ...found, stdError: found.stdError ?? Number.NaN } : null,
    };
  });
}

export const RETURN_DAYS = [90, 180, 365];
export const seenBy = (days: number) => `return of separation seen by ${days} days`;
export const returnedBy = (days: number) => `return of separation by ${days} days, unseen ones counted`;

/** Return of separation: as visits see it, and with unseen returns counted. Truths are taken over all herds. */
export async function measureReturn(engine: Engine): Promise<Measured[]> {
  const options = { problem: 'separation', by: 'none', horizons: RETURN_DAYS };
  const found = estimatesOf((await runAnalysis(engine, 'recurrence', options)).tables);
  return RETURN_DAYS.flatMap((days) => [
    { quantity: seenBy(days), truth: null, found: found(`return seen by ${days} days`, 'all') },
    {
      quantity: returnedBy(days),
      truth: null,
      found: found(`return by ${days} days, unseen returns counted (two-state model)`, 'all'),
    },
  ]);
}
