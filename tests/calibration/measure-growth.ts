import type { HorseHistory } from '../../data/herd.ts';
import { BREED_TYPES, type Terrain, TRUTH } from '../../data/truth.ts';
import { gatherGrowth, growthSql } from '../../src/analyses/growth/data.ts';
import { optionsSchema } from '../../src/analyses/growth/options.ts';
import { civilDay, YEAR_DAYS } from '../../src/core/civil-day.ts';
import { numbers, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import type { Interval, Measured } from './measured.ts';
import { estimatesOf, intervalAt, runAnalysis } from './run-analysis.ts';

const OPTIONS = optionsSchema.parse({ by: 'breed_type', adjust: ['terrain'] });
const NOT_HELD = optionsSchema.parse({ by: 'none' });
const { growth } = TRUTH;
/** Two readings, each with its error and rounded to half a millimetre. */
const CYCLE_SD = Math.sqrt(2 * (growth.toeErrorSdMm ** 2 + 0.5 ** 2 / 12));

export async function measureGrowth(engine: Engine, histories: readonly HorseHistory[]): Promise<Measured[]> {
  const rows = gatherGrowth(await engine.query(growthSql(OPTIONS)));
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
  const plain = estimatesOf((await runAnalysis(engine, 'growth', NOT_HELD)).tables);
  const peakOf = (of: typeof found): Interval | null => {
    const peak = of('day of fastest growth', 'all');
    return peak && turned(peak);
  };
  measured.push(
    {
      quantity: 'seasonal amplitude, ground held',
      truth: growth.seasonAmplitudeMmPer30d,
      found: found('seasonal amplitude', 'all'),
    },
    { quantity: 'peak day, ground held', truth: PEAK, found: peakOf(found) },
    {
      quantity: 'seasonal amplitude, ground not held',
      truth: growth.seasonAmplitudeMmPer30d,
      found: plain('seasonal amplitude', 'all'),
    },
    { quantity: 'peak day, ground not held', truth: PEAK, found: peakOf(plain) },
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

/** Day of 2001 (1 = 1 January), which stands for any year. */
const PEAK = ((((growth.seasonPeakDay - civilDay(2001, 1, 1)!) % YEAR_DAYS) + YEAR_DAYS) % YEAR_DAYS) + 1;

/** The same day of the year, counted in the turn that is nearest to the truth. */
function turned({ estimate, stdError, low, high }: Interval): Interval {
  const by = Math.round((PEAK - estimate) / YEAR_DAYS) * YEAR_DAYS;
  return { estimate: estimate + by, stdError, low: low + by, high: high + by };
}
