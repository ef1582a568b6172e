import type { HorseHistory } from '../../data/herd.ts';
import { BREED_TYPES, type Terrain, TRUTH } from '../../data/truth.ts';
import { gatherGrowth, growthSql } from '../../src/analyses/growth/data.ts';
import { fitBest } from '../../src/analyses/growth/fit.ts';
import { optionsSchema } from '../../src/analyses/growth/options.ts';
import { civilDay, YEAR_DAYS } from '../../src/core/civil-day.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { numbers, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import type { NestedSlopesFit } from '../../src/stats/nested-slopes.ts';
import { seasonalWave } from '../../src/stats/seasonal.ts';
import type { Interval, Measured } from './measured.ts';
import { estimatesOf, intervalAt, runAnalysis } from './run-analysis.ts';

const OPTIONS = optionsSchema.parse({ by: 'breed_type', adjust: ['terrain'] });
const { growth } = TRUTH;
/** Two readings, each with its error and rounded to half a millimetre. */
const CYCLE_SD = Math.sqrt(2 * (growth.toeErrorSdMm ** 2 + 0.5 ** 2 / 12));

export async function measureGrowth(engine: Engine, histories: readonly HorseHistory[]): Promise<Measured[]> {
  const rows = gatherGrowth(await engine.query(growthSql(OPTIONS).sql));
  const ground = rows.groups.get('terrain')!;
  const wearOf = (row: number) => growth.wearMmPer30d[ground.levels[ground.codes[row]!] as Terrain];
  // Ground is held at the herd's own mix of cycles.
  const wear = rows.days.reduce((sum, _, row) => sum + wearOf(row), 0) / rows.days.length;
  const { tables } = await runAnalysis(engine, 'growth', OPTIONS);
  const found = estimatesOf(tables);
  const measured: Measured[] = BREED_TYPES.map((type) => ({
    quantity: `growth, ${type}`,
    truth: growth.grossMmPer30d[type] - wear,
    found: found('toe growth', type),
  }));
  const { design, fit } = fitBest(rows, OPTIONS);
  if (isUnavailable(fit)) throw new Error(fit.sentence);
  const held = seasonOf(fit, design.season!);
  const crude = found('day of fastest growth', 'all');
  measured.push(
    {
      quantity: 'seasonal amplitude, ground held',
      truth: growth.seasonAmplitudeMmPer30d,
      found: held.amplitude,
    },
    { quantity: 'peak day, ground held', truth: PEAK, found: turned(held.peak) },
    {
      quantity: 'seasonal amplitude of the herd, ground not held',
      truth: growth.seasonAmplitudeMmPer30d,
      found: found('seasonal amplitude', 'all'),
    },
    { quantity: 'peak day of the herd, ground not held', truth: PEAK, found: crude && turned(crude) },
    {
      quantity: 'spread between horses (SD)',
      truth: growth.horseSdMmPer30d,
      found: found('spread between horses (SD)', 'all'),
    },
    {
      quantity: 'spread between feet (SD)',
      truth: growth.footSdMmPer30d,
      found: found('spread between feet of a horse (SD)', 'all'),
    },
    {
      quantity: 'scatter of one cycle (SD)',
      truth: CYCLE_SD,
      found: found('spread of one change around its rate (SD)', 'all'),
    },
    ...ownRates(),
  );
  return measured;

  function ownRates(): Measured[] {
    const own = tables.find(({ name }) => name === 'per_horse')!.table;
    const [days, worn] = [new Float64Array(rows.horseIds.length), new Float64Array(rows.horseIds.length)];
    rows.days.forEach((d, row) => {
      days[rows.horse[row]!]! += d;
      worn[rows.horse[row]!]! += d * wearOf(row);
    });
    const byId = new Map(histories.map((history) => [history.horse.row.horse_id, history]));
    const stdErrors = numbers(own, 'std_error');
    return texts(own, 'horse_id').map((id, i) => {
      const horse = rows.horseIds.indexOf(id!);
      const { horse: known, effects } = byId.get(id!)!;
      const gross = growth.grossMmPer30d[known.breedType] + effects.growthMmPer30d;
      return {
        quantity: 'growth of one horse',
        truth: gross - worn[horse]! / days[horse]!,
        found: intervalAt(own, i, stdErrors[i]!),
      };
    });
  }
}

/** Season of a fit by groups, as the analysis works it out; the peak as a day of 2001. */
function seasonOf(fit: NestedSlopesFit, { cos, sin }: { cos: number; sin: number }) {
  const p = fit.beta.length;
  const of = (i: number, j: number) => fit.covariance[i * p + j]!;
  const covariance = Float64Array.of(of(cos, cos), of(cos, sin), of(sin, cos), of(sin, sin));
  const { amplitude, peakDay } = seasonalWave(fit.beta[cos]!, fit.beta[sin]!, covariance);
  const moved = (day: number) => day - civilDay(2001, 1, 1)! + 1;
  return {
    amplitude: { ...amplitude, stdError: amplitude.stdError ?? Number.NaN },
    peak: {
      estimate: moved(peakDay.estimate),
      stdError: peakDay.stdError ?? Number.NaN,
      low: moved(peakDay.low),
      high: moved(peakDay.high),
    },
  };
}

/** Day of 2001 (1 = 1 January), which stands for any year. */
const PEAK = ((((growth.seasonPeakDay - civilDay(2001, 1, 1)!) % YEAR_DAYS) + YEAR_DAYS) % YEAR_DAYS) + 1;

/** The same day of the year, counted in the turn that is nearest to the truth. */
function turned({ estimate, stdError, low, high }: Interval): Interval {
  const by = Math.round((PEAK - estimate) / YEAR_DAYS) * YEAR_DAYS;
  return { estimate: estimate + by, stdError, low: low + by, high: high + by };
}
