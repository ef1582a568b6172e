import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { type BandsBegun, beginBands, type TurnbullBands } from '../../stats/turnbull-bands.ts';
import { weibullInterval } from '../../stats/weibull-interval.ts';
import {
  type DesignColumns,
  designMatrix,
  levelColumns,
  sideBySide,
  usedColumns,
} from '../design-columns.ts';
import type { Counts } from '../format.ts';
import { countOf } from '../groups.ts';
import { alikeVisit, isAlike, isDone, type ReturnRows, spellsWhere } from './data.ts';
import { CHOICES, DONE, type Done, type ReliefOptions } from './options.ts';

/** Return of separation seen at visits, of one choice. */
export interface ReturnCurve {
  readonly done: Done;
  readonly bands: Outcome<TurnbullBands>;
  readonly counts: Counts & { readonly spells: number };
  readonly where: string;
}

/** Rate of return, relieved over only bevelled. */
export interface ReturnRatio {
  readonly comparison: 'crude' | 'adjusted';
  readonly ratio: Outcome<Estimate>;
  readonly counts: Counts & { readonly spells: number };
  readonly where: string;
}

/** Days at which the curves are drawn: two years. */
export const RETURN_DAYS: readonly number[] = Array.from({ length: 37 }, (_, i) => i * 20);

/** The same while its bands are still to be drawn. */
interface CurveBegun extends Omit<ReturnCurve, 'bands'> {
  readonly begun: Outcome<BandsBegun>;
}

export function beginCurves(
  rows: ReturnRows,
  { horizons, replicates, seed, ...options }: ReliefOptions,
): CurveBegun[] {
  const at = Float64Array.from(new Set([...RETURN_DAYS, ...horizons])).sort();
  return CHOICES.map((done) => {
    const keep = Array.from(rows.left.keys()).filter(
      (row) => (rows.relieved[row] === 1) === (done === 'relieved'),
    );
    const data = {
      left: Float64Array.from(keep, (row) => rows.left[row]!),
      right: Float64Array.from(keep, (row) => rows.right[row]!),
    };
    const horse = Int32Array.from(keep, (row) => rows.horse[row]!);
    return {
      done,
      begun: beginBands(data, horse, { at, replicates, seed }),
      counts: spellCounts(rows, keep),
      where: spellsWhere({ horizons, replicates, seed, ...options }, isDone(done)),
    };
  });
}

export function returnRatios(rows: ReturnRows, options: ReliefOptions): ReturnRatio[] {
  return (['crude', 'adjusted'] as const).map((comparison) => {
    const keep = Array.from(rows.left.keys()).filter((row) => comparison === 'crude' || isAlike(rows, row));
    const used = (coded: { levels: readonly string[]; codes: Int32Array }) => {
      const seen = new Set(keep.map((row) => coded.codes[row]!));
      return seen.size > 1 ? coded : null;
    };
    const relieved: DesignColumns = { names: [DONE.relieved], at: [(row) => rows.relieved[row]!] };
    const held =
      comparison === 'crude'
        ? []
        : [['distance', rows.place] as const, ...rows.groups].flatMap(([name, coded]) => {
            const told = used(coded);
            return told ? [usedColumns(levelColumns(name, told), keep)] : [];
          });
    return {
      comparison,
      ratio: ratioOf(rows, keep, sideBySide(relieved, ...held)),
      counts: spellCounts(rows, keep),
      where: spellsWhere(options, comparison === 'crude' ? null : alikeVisit(options)),
    };
  });
}

function ratioOf(rows: ReturnRows, keep: readonly number[], design: DesignColumns): Outcome<Estimate> {
  const relieved = keep.reduce((sum, row) => sum + rows.relieved[row]!, 0);
  if (relieved === 0 || relieved === keep.length) {
    return unavailable('no-overlap', 'no spells of both kinds to compare: no evidence here.');
  }
  const fit = weibullInterval({
    left: Float64Array.from(keep, (row) => rows.left[row]!),
    right: Float64Array.from(keep, (row) => rows.right[row]!),
    x: designMatrix(design, keep),
    terms: design.names,
    cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
  });
  if (isUnavailable(fit)) return fit;
  const term = fit.terms.find((each) => each.term === DONE.relieved);
  if (!term) {
    return unavailable('no-events', 'no return was seen on one of the two sides, so no ratio can be given.');
  }
  const { estimate, low, high } = term.logHazardRatio;
  return { estimate: Math.exp(estimate), stdError: null, low: Math.exp(low), high: Math.exp(high) };
}

function spellCounts(rows: ReturnRows, keep: readonly number[]): Counts & { readonly spells: number } {
  const { horses, feet } = countOf(rows.horse, rows.foot, keep);
  const looks = keep.reduce((sum, row) => sum + rows.looks[row]!, 0);
  return { horses, feet, cycles: looks, spells: keep.length };
}

export function returnRefusals(
  curves: readonly ReturnCurve[],
  ratios: readonly ReturnRatio[],
): Unavailable[] {
  const sentence = (text: string): string =>
    `${text.charAt(0).toLowerCase()}${text.slice(1)}`
      .replace(/of the (.+) spans followed ended in an event/, 'of the $1 clear spells ended with its return')
      .replace(
        /the one span followed did not end in an event/,
        'the one clear spell did not end with its return',
      );
  return [
    ...curves.flatMap(({ done, bands }) =>
      isUnavailable(bands)
        ? [unavailable(bands.unavailable, `return of separation, ${DONE[done]}: ${sentence(bands.sentence)}`)]
        : [],
    ),
    ...ratios.flatMap(({ comparison, ratio }) =>
      isUnavailable(ratio) && !curves.some(({ bands }) => isUnavailable(bands))
        ? [
            unavailable(
              ratio.unavailable,
              `rates of return, ${comparison === 'crude' ? 'as recorded' : 'among like feet'}: ${sentence(ratio.sentence)}`,
            ),
          ]
        : [],
    ),
  ];
}
