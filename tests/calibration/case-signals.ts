// How often the signals of case trends go off in herds where nothing changed, and where cases rose in the last year.
// Run: npx tsx tests/calibration/case-signals.ts
import { made } from '../../src/analyses/apart.ts';
import { horseMonths } from '../../src/analyses/case-trends/monthly.ts';
import { monthsBetween } from '../../src/analyses/case-trends/months.ts';
import { optionsSchema } from '../../src/analyses/case-trends/options.ts';
import { signalsOf } from '../../src/analyses/case-trends/signals.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { type Look, looksFrom } from './case-looks.ts';

const HERDS = 300;

/** Four feet a horse, horses apart by a log-normal factor, risk by season and days, seen every 5 to 8 weeks. */
function looksOf(horses: number, spread: number, years: number, rise: number, seed: number) {
  const random = seededRandom(seed);
  const rows: Look[] = [];
  for (let horse = 0; horse < horses; horse += 1) {
    const own = Math.exp(random.normal(0, spread));
    const gap = 35 + (horse % 4) * 7;
    for (let foot = 0; foot < 4; foot += 1) {
      let state = 0;
      const end = 19000 + years * 365;
      for (let day = 19000 + random.integer(0, 41); day + gap < end; day += gap) {
        const season = 1 + 0.4 * Math.sin((2 * Math.PI * day) / 365.25);
        const hazard = 0.06 * own * season * (gap / 42) ** 1.4 * (day > end - 365 ? rise : 1);
        const before = state;
        if (before === 1) state = random.uniform() < 0.4 ? 0 : 1;
        else state = random.uniform() < 1 - Math.exp(-hazard) ? 1 : 0;
        rows.push([day, day + gap, before, state, horse, 4 * horse + foot]);
      }
    }
  }
  return looksFrom(rows, horses);
}

console.log('horses, spread, years, rise | sum passed, said | months to a month outside | scan at p 0.05');
for (const [horses, spread, years, rise] of [
  [60, 0, 3, 1],
  [60, 0.6, 3, 1],
  [60, 0.6, 4, 1],
  [200, 0.6, 3, 1],
  [60, 0.6, 4, 1.5],
  [60, 0.6, 4, 2],
] as const) {
  let passed = 0;
  let said = 0;
  let outside = 0;
  let watched = 0;
  let scans = 0;
  for (let herd = 0; herd < HERDS; herd += 1) {
    const looks = looksOf(horses, spread, years, rise, herd * 7 + 1);
    const months = monthsBetween(Math.min(...looks.from), Math.max(...looks.to));
    const groups = horseMonths(looks, months);
    const here = made(async () => undefined);
    const { chart, scan } = await signalsOf(looks, months, optionsSchema.parse({}), groups, here);
    if (isUnavailable(chart) || isUnavailable(scan)) throw new Error('a herd of this size must have signals');
    if (chart.sum.some((month) => month.passed)) passed += 1;
    said += chart.falseShare;
    outside += chart.months.filter(({ isWatched, isOutside }) => isWatched && isOutside).length;
    watched += chart.sum.length;
    if (scan.p <= 0.05) scans += 1;
  }
  const share = (n: number): string => (n / HERDS).toFixed(3);
  console.log(
    `${horses}, ${spread}, ${years}, ${rise} | ${share(passed)}, ${share(said)} | ${(watched / outside).toFixed(0)} | ${share(scans)}`,
  );
}
