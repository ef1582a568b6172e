// How often the interval of a year's rate of new cases holds the rate over all herds, and that of its ratio to the year
// before holds 1, in herds where nothing changed. Run: npx tsx tests/calibration/case-years.ts
import { horseYears, yearDispersion, yearsRatio } from '../../src/analyses/case-trends/horse-years.ts';
import { monthSums, trendDispersion } from '../../src/analyses/case-trends/monthly.ts';
import { monthsBetween } from '../../src/analyses/case-trends/months.ts';
import { optionsSchema } from '../../src/analyses/case-trends/options.ts';
import { spansOf, yearsOf } from '../../src/analyses/case-trends/years.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { type Look, looksFrom } from './case-looks.ts';

const HERDS = 300;

/** Four feet a horse, horses apart by a log-normal factor, seen every 5 to 8 weeks for three years. */
function looksOf(horses: number, spread: number, seed: number) {
  const random = seededRandom(seed);
  const rows: Look[] = [];
  for (let horse = 0; horse < horses; horse += 1) {
    const own = Math.exp(random.normal(0, spread));
    const gap = 35 + (horse % 4) * 7;
    for (let foot = 0; foot < 4; foot += 1) {
      let state = 0;
      for (let day = 19000 + random.integer(0, 41); day + gap < 19000 + 3 * 365; day += gap) {
        const before = state;
        const hazard = (0.06 * own * gap) / 42;
        state = random.uniform() < (before === 1 ? 0.4 : -Math.expm1(-hazard)) ? 1 : 0;
        rows.push([day, day + gap, before, state, horse, 4 * horse + foot]);
      }
    }
  }
  return looksFrom(rows, horses);
}

console.log('horses, spread | rate, rate by the dispersion of months alone, ratio');
for (const [horses, spread] of [
  [60, 0],
  [60, 0.6],
  [60, 1],
  [20, 0.6],
] as const) {
  const rates: number[] = [];
  const wide: [number, number][] = [];
  const narrow: [number, number][] = [];
  let ratios = 0;
  const options = optionsSchema.parse({});
  for (let herd = 0; herd < HERDS; herd += 1) {
    const looks = looksOf(horses, spread, herd + 1);
    const months = monthsBetween(Math.min(...looks.from), Math.max(...looks.to));
    const sums = monthSums(looks, months);
    const dispersion = trendDispersion(looks, months);
    const years = spansOf(looks, months).map((span) => horseYears(looks, months, span, options));
    const latest = (of: number) => yearsOf(looks, months, sums, ['all'], of, options)[0]!.rate;
    const { estimate, low, high } = latest(Math.max(dispersion, yearDispersion(years)));
    rates.push(estimate);
    wide.push([low, high]);
    narrow.push([latest(dispersion).low, latest(dispersion).high]);
    const ratio = yearsRatio(years[0]!, years[1]!, dispersion)!;
    if (ratio.low <= 1 && ratio.high >= 1) ratios += 1;
  }
  const truth = rates.reduce((sum, rate) => sum + rate, 0) / HERDS;
  const held = (intervals: [number, number][]): string =>
    (intervals.filter(([low, high]) => low <= truth && truth <= high).length / HERDS).toFixed(3);
  console.log(`${horses}, ${spread} | ${held(wide)}, ${held(narrow)}, ${(ratios / HERDS).toFixed(3)}`);
}
