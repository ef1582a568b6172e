import type { Outcome } from '../../core/outcome.ts';
import { isUnavailable, unavailable } from '../../core/outcome.ts';
import type { QuantileBand } from '../../stats/turnbull-bands.ts';
import { type Counts, counted, horsesText } from '../format.ts';
import { countOf } from '../groups.ts';
import { type Sharing, sharedBands } from '../shared-bands.ts';
import type { SpellsOptions } from './options.ts';
import { begunBetween, lengthOf, type Runs, STATES, type State } from './runs.ts';

/** How long the runs of one state last, as far as visits show it. */
export interface Lengths {
  readonly state: State;
  readonly nRuns: number;
  /** Met under way at the foot's first graded visit. */
  readonly underWay: number;
  /** Still so at its last. */
  readonly ongoing: number;
  /** Begun and ended between visits. */
  readonly bounded: number;
  /** Runs begun between visits: those behind the median. `cycles` are looks, from visit to visit. */
  readonly counts: Counts;
  readonly nBegun: number;
  /** Days; the median lies between the bounds of the estimate. */
  readonly median: Outcome<QuantileBand>;
}

export async function lengthsOf(runs: Runs, options: SpellsOptions, sharing: Sharing): Promise<Lengths[]> {
  const found: Lengths[] = [];
  for (const state of STATES) found.push(await lengthsOfState(runs, state, options, sharing));
  return found;
}

async function lengthsOfState(
  runs: Runs,
  state: State,
  { replicates, seed }: SpellsOptions,
  sharing: Sharing,
): Promise<Lengths> {
  const wanted = state === 'present' ? 1 : 0;
  const all = Array.from(runs.first.keys()).filter((row) => runs.isPresent[row] === wanted);
  const begun = begunBetween(runs, state);
  const bands = await sharedBands(
    {
      left: Float64Array.from(begun, (row) => lengthOf(runs, row).least),
      right: Float64Array.from(begun, (row) => {
        const { most } = lengthOf(runs, row);
        return Number.isNaN(most) ? Number.POSITIVE_INFINITY : most;
      }),
    },
    Int32Array.from(begun, (row) => runs.horse[row]!),
    { at: new Float64Array(0), quantiles: [0.5], replicates, seed },
    sharing,
  );
  const { horses, feet } = countOf(runs.horse, runs.foot, begun);
  const looks = begun.reduce(
    (sum, row) => sum + runs.visits[row]! + (Number.isNaN(runs.next[row]!) ? 0 : 1),
    0,
  );
  return {
    state,
    nRuns: all.length,
    underWay: all.filter((row) => Number.isNaN(runs.after[row]!)).length,
    ongoing: all.filter((row) => Number.isNaN(runs.next[row]!)).length,
    bounded: all.filter((row) => !Number.isNaN(lengthOf(runs, row).most)).length,
    counts: { horses, feet, cycles: looks },
    nBegun: begun.length,
    median: medianOf(bands, begun.length, horses),
  };
}

function medianOf(
  bands: Outcome<{ readonly quantiles: readonly QuantileBand[] }>,
  nRuns: number,
  horses: number,
): Outcome<QuantileBand> {
  if (isUnavailable(bands)) return bands;
  const median = bands.quantiles[0]!;
  return Number.isFinite(median.estimate.high)
    ? median
    : unavailable(
        'no-events',
        `fewer than half of the ${counted(nRuns, 'spell', 'spells')} of ${horsesText(horses)} were seen to end, so that the middle length is not known`,
      );
}
