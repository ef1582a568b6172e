// How often a client falls outside its limits, and the sentence says that clients differ, where none does.
// Run: npx tsx tests/calibration/client-limits.ts
import { expectations } from '../../src/analyses/client-audit/expected.ts';
import { optionsSchema } from '../../src/analyses/client-audit/options.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { seededRandom } from '../../src/stats/random.ts';

const HERDS = 150;

/** Eight horses a client, four feet each, log-normally apart, seen every 5 to 8 weeks for one to four years. */
function herdOf(clients: number, spread: number, seed: number) {
  const random = seededRandom(seed);
  const rows: [number, number, number, number, number, number][] = [];
  for (let horse = 0; horse < 8 * clients; horse += 1) {
    const hazard = 0.06 * Math.exp(random.normal(0, spread));
    const gap = 35 + 7 * random.integer(0, 4);
    const end = 365 * (1 + 3 * random.uniform());
    for (let foot = 0; foot < 4; foot += 1) {
      let state = 0;
      for (let day = random.integer(0, 40); day + gap < end; day += gap) {
        const before = state;
        state = random.uniform() < (before === 1 ? 0.6 : -Math.expm1((-hazard * gap) / 42)) ? 1 : 0;
        rows.push([gap, before, state, horse, 4 * horse + foot, Math.floor(horse / 8)]);
      }
    }
  }
  const levels = Array.from({ length: clients }, (_, k) => `client ${k}`);
  const atRisk: number[][] = levels.map(() => []);
  rows.forEach((row, i) => {
    if (row[1] === 0) atRisk[row[5]]!.push(i);
  });
  return {
    days: Float64Array.from(rows, (row) => row[0]),
    ended: new Float64Array(rows.length),
    start: Uint8Array.from(rows, (row) => row[1]),
    end: Uint8Array.from(rows, (row) => row[2]),
    horse: Int32Array.from(rows, (row) => row[3]),
    foot: Int32Array.from(rows, (row) => row[4]),
    client: { levels, codes: Int32Array.from(rows, (row) => row[5]) },
    groups: new Map(),
    atRisk,
  };
}

console.log('clients, spread, limits | outside 95 %, outside 99.8 %, interval holds 1 | said to differ');
for (const spread of ['additive', 'none'] as const) {
  for (const [clients, apart] of [
    [12, 0],
    [12, 0.6],
    [12, 1],
    [30, 0.6],
  ] as const) {
    let [n, outside, far, held, said] = [0, 0, 0, 0, 0];
    for (let herd = 0; herd < HERDS; herd += 1) {
      const found = expectations(herdOf(clients, apart, herd + 1), [], optionsSchema.parse({ spread }));
      if (isUnavailable(found)) throw new Error('a herd of this size must have expected numbers');
      if (found.between.isBeyondChance) said += 1;
      for (const { verdict, ratio } of found.clients) {
        n += 1;
        if (verdict !== 'as expected') outside += 1;
        if (verdict.startsWith('far')) far += 1;
        if (ratio.low <= 1 && ratio.high >= 1) held += 1;
      }
    }
    const share = (count: number): string => (count / n).toFixed(4);
    console.log(
      `${clients}, ${apart}, ${spread} | ${share(outside)}, ${share(far)}, ${share(held)} | ${(said / HERDS).toFixed(3)}`,
    );
  }
}
