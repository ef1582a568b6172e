import { ANALYSES } from '../../src/analyses/index.ts';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { PROBLEM_KEYS } from '../../src/herd/problems.ts';
import { type Random, seededRandom } from '../../src/stats/random.ts';
import { faults } from '../hard-cases/result-faults.ts';
import { NO_HORSES } from '../herd-fixture.ts';
import { type RandomHerd, randomHerd } from './random-herd.ts';

const TODAY = dayFromIso('2026-11-25') as CivilDay;
const GROUPINGS = [
  'none',
  'breed_type',
  'terrain',
  'moisture',
  'season',
  'age_band',
  'foot_end',
  'foot',
  'protection',
  'client_id',
];

/** Options worth trying; an analysis takes those that its schema knows. */
const TRIED: Readonly<Record<string, (random: Random) => unknown>> = {
  problem: (random) => random.pick([...PROBLEM_KEYS, 'coronet_crack', 'all']),
  by: (random) => random.pick(GROUPINGS),
  adjust: (random) => random.shuffle(GROUPINGS.slice(1, 8)).slice(0, random.integer(0, 3)),
  measure: (random) => random.pick(['toe', 'heel', 'angle']),
  grade: (random) => random.integer(1, 3),
  at: () => 'every',
  dating: () => 'visit',
  site: (random) => random.pick(['white_line', 'any']),
  interval: () => 'own',
  spread: (random) => random.pick(['multiplicative', 'none']),
  due: () => 'usual',
  look: (random) => random.pick(['ahead', 'back']),
  horse: () => 'nobody',
  client: () => 'nobody',
  risk_separation: (random) => random.pick([1e-6, 0.999]),
  tolerance_mm: (random) => random.pick([1, 60]),
  alike_by: () => [],
};

function optionsFor(
  analysis: (typeof ANALYSES)[number],
  random: Random,
  all: boolean,
): Record<string, unknown> {
  let options: Record<string, unknown> = {};
  if (all) {
    for (const [name, make] of Object.entries(TRIED)) {
      const more = { ...options, [name]: make(random) };
      if (random.uniform() < 0.4 && analysis.options.safeParse(more).success) options = more;
    }
  }
  const quick = { ...options, replicates: 50 };
  return analysis.options.safeParse(quick).success ? quick : options;
}

export interface HerdOutcome extends Pick<RandomHerd, 'departures'> {
  /** Analyses that gave a number, and those that only said why not. */
  readonly numbers: number;
  readonly sentences: number;
  readonly faults: readonly string[];
}

/** Herd `n` of the endless row of random herds, asked every question (or only some); each by its defaults, or by options at random. */
export async function askHerd(
  engine: Engine,
  n: number,
  only: readonly string[] | null = null,
): Promise<HerdOutcome> {
  const random = seededRandom(n);
  const { departures, table } = randomHerd(random);
  const ownOptions = random.uniform() < 0.5;
  const found: string[] = [];
  let numbers = 0;
  let sentences = 0;
  try {
    await loadHerd(
      engine,
      { visits: table, horses: NO_HORSES },
      { hemisphere: random.pick(['north', 'south']) },
    );
    await setToday(engine, TODAY);
  } catch (error) {
    return { departures, numbers, sentences, faults: [`loading threw ${error}`] };
  }
  for (const analysis of ANALYSES.filter(({ name }) => only?.includes(name) ?? true)) {
    const options = optionsFor(analysis, random, ownOptions);
    const words = `${analysis.name} ${JSON.stringify(options)}`;
    try {
      const result = await analysis.run(analysis.options.parse(options), {
        engine,
        today: TODAY,
        lengths: random.pick(['mm', 'in'] as const),
        signal: new AbortController().signal,
        progress: () => undefined,
      });
      found.push(...faults(result).map((fault) => `${words}: ${fault}`));
      if ((result.tables[0]?.table.rowCount ?? 0) > 0) numbers++;
      else sentences++;
    } catch (error) {
      // Options that do not suit are refused in words, as on a page.
      if (error instanceof Error && error.message.startsWith('groups must be by')) sentences++;
      else found.push(`${words}: threw ${error instanceof Error ? error.stack?.slice(0, 500) : error}`);
    }
  }
  return { departures, numbers, sentences, faults: found };
}
