// How often the 95 % intervals hold the truth, in simulated clusters: npx tsx tests/calibration/two-state.ts
import { isUnavailable } from '../../src/core/outcome.ts';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { coefficient, type PredictorFit } from '../../src/stats/predictor-fit.ts';
import { type Random, seededRandom } from '../../src/stats/random.ts';
import type { TransitionData } from '../../src/stats/transition-data.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';
import { TRUTH, type Truth, walk } from '../stats/simulate-transitions.ts';

const HERDS = Number(process.argv[2] ?? 200);

/** Two units in each cluster, which share a normal factor of sd `spread` on the log hazard; half the clusters in a group. */
function herd(random: Random, clusters: number, spread: number, truth: Truth): TransitionData {
  const start: number[] = [];
  const end: number[] = [];
  const time: number[] = [];
  const group: number[] = [];
  const cluster: number[] = [];
  for (let g = 0; g < clusters; g += 1) {
    const level = truth.level + truth.group * (g % 2) + random.normal(0, spread);
    for (let unit = 0; unit < 2; unit += 1) {
      let state = random.uniform() < 0.3 ? 1 : 0;
      for (let look = 0; look < 15; look += 1) {
        const days = random.pick(truth.days);
        const next = walk(random, state, days, level, truth);
        start.push(state);
        end.push(next);
        time.push(days);
        group.push(g % 2);
        cluster.push(g);
        state = next;
      }
    }
  }
  return {
    start,
    end,
    time,
    onset: Float64Array.from(group.flatMap((x) => [1, x])),
    onsetTerms: ['onset', 'group'],
    clearing: new Float64Array(start.length).fill(1),
    clearingTerms: ['clearing'],
    cluster,
  };
}

class Tally {
  private readonly held = new Map<string, { held: number; asked: number; error: number }>();

  ask(fit: PredictorFit, parameter: number, truth: number, label: string): void {
    const found = coefficient(fit, parameter);
    if (found.kind !== 'estimated') return;
    const entry = this.held.get(label) ?? { held: 0, asked: 0, error: 0 };
    entry.asked += 1;
    entry.error += found.estimate - truth;
    if (found.low <= truth && truth <= found.high) entry.held += 1;
    this.held.set(label, entry);
  }

  rows(): string[] {
    return Array.from(this.held, ([label, { held, asked, error }]) => {
      return `${label} | ${(held / asked).toFixed(3)} | ${(error / asked).toFixed(3)} | ${asked}`;
    });
  }
}

console.log(`share of ${HERDS} simulated herds whose 95 % intervals hold the truth`);
console.log('clusters, spread of log hazard | figure | held | mean error | herds');
for (const [clusters, spread] of [
  [30, 0],
  [60, 0],
  [60, 0.4],
  [200, 0.4],
] as const) {
  const tally = new Tally();
  for (let seed = 1; seed <= HERDS; seed += 1) {
    const random = seededRandom(seed * 1000 + clusters);
    const data = herd(random, clusters, spread, TRUTH);
    const exact = fitOnsetSinceReset(data);
    if (!isUnavailable(exact)) {
      tally.ask(exact, 0, TRUTH.level, 'log onset by 42 days');
      tally.ask(exact, 1, TRUTH.group, 'group effect');
      tally.ask(exact, 2, Math.log(TRUTH.clearing), 'log clearing a year');
      tally.ask(exact, 3, Math.log(TRUTH.exponent), 'log exponent');
    }
    const clear = Array.from(data.start, (_, row) => row).filter((row) => data.start[row] === 0);
    const seen = fitBinary({
      event: clear.map((row) => data.end[row]!),
      x: Float64Array.from(
        clear.flatMap((row) => [1, data.onset[2 * row + 1]!, Math.log(data.time[row]! / 42)]),
      ),
      terms: ['level', 'group', 'log time'],
      cluster: clear.map((row) => data.cluster[row]!),
    });
    if (!isUnavailable(seen))
      tally.ask(seen, 2, TRUTH.exponent, 'exponent from onsets seen (not the main answer)');
    const steady = herd(random, clusters, spread, { ...TRUTH, exponent: 1 });
    const years = Float64Array.from(steady.time, (days) => days / 365.25);
    const markov = fitTwoStateMarkov({ ...steady, time: years });
    if (!isUnavailable(markov)) {
      tally.ask(markov, 0, TRUTH.level + Math.log(365.25 / 42), 'Markov: log onset a year');
      tally.ask(markov, 2, Math.log(TRUTH.clearing), 'Markov: log clearing a year');
    }
  }
  for (const row of tally.rows()) console.log(`${clusters}, ${spread} | ${row}`);
}
