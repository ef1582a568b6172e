import type { Outcome } from '../core/outcome.ts';
import { isUnavailable } from '../core/outcome.ts';
import type { IntervalData } from '../stats/interval-data.ts';
import {
  type BandOptions,
  type BandsBegun,
  bandSteps,
  beginBands,
  drawBands,
  type TurnbullBands,
  widened,
  withoutBand,
} from '../stats/turnbull-bands.ts';
import type { Apart } from './apart.ts';
import { paced } from './pacing.ts';

/** Replicates drawn in one go: enough that handing them over does not count, few enough that two threads end together. */
const IN_ONE_GO = 20;

export interface Sharing {
  readonly apart: Apart | undefined;
  pause(): Promise<void>;
  /** How far the replicates are, 0–1. */
  told?(fraction: number): void;
}

/** The bands of `turnbullBandSteps`, the same to the digit, drawn by as many threads as there are. */
export async function sharedBands(
  data: IntervalData,
  cluster: Int32Array,
  options: BandOptions,
  sharing: Sharing,
): Promise<Outcome<TurnbullBands>> {
  const begun = beginBands(data, cluster, options);
  return isUnavailable(begun) ? begun : finishedBands(begun, sharing);
}

async function finishedBands(
  begun: BandsBegun,
  { apart, pause, told = () => undefined }: Sharing,
): Promise<TurnbullBands> {
  if (!apart) return paced(bandSteps(begun), pause, ({ done, total }) => told(done / total));
  const { task, replicates } = begun;
  let done = 0;
  const stretches = Array.from({ length: Math.ceil(replicates / IN_ONE_GO) }, async (_, k) => {
    const from = k * IN_ONE_GO;
    const to = Math.min(from + IN_ONE_GO, replicates);
    const part = await apart('turnbull replicates', { task, from, to });
    done += to - from;
    told(done / replicates);
    return part;
  });
  const drawn = drawBands(begun, await Promise.all(stretches));
  const found = await Promise.all(drawn.limits.map((limit) => apart('turnbull limit', limit)));
  return widened(drawn, found);
}

/** What was begun, as it can be shown while its bands are being drawn. */
export const withoutBands = <T extends Begun>({ begun, ...rest }: T): Shown<T> => ({
  ...rest,
  bands: isUnavailable(begun) ? begun : withoutBand(begun),
});

/** Each with its bands: all at once where threads share them, else one after the other. `told` of the whole. */
export async function withEveryBand<T extends Begun>(
  begun: readonly T[],
  { apart, pause, told = () => undefined }: Sharing,
): Promise<Shown<T>[]> {
  const fractions = begun.map(() => 0);
  const withBands = async ({ begun: mine, ...rest }: T, k: number): Promise<Shown<T>> => {
    const tell = (fraction: number): void => {
      fractions[k] = fraction;
      told(fractions.reduce((sum, each) => sum + each) / fractions.length);
    };
    const bands = isUnavailable(mine) ? mine : await finishedBands(mine, { apart, pause, told: tell });
    return { ...rest, bands };
  };
  if (apart) return Promise.all(begun.map(withBands));
  const shown: Shown<T>[] = [];
  for (const [k, each] of begun.entries()) shown.push(await withBands(each, k));
  return shown;
}

/** Of fewer spells the bands are there before curves without them could be looked at. */
export const MANY_SPELLS = 200;

interface Begun {
  readonly begun: Outcome<BandsBegun>;
}

type Shown<T extends Begun> = Omit<T, 'begun'> & { readonly bands: Outcome<TurnbullBands> };
