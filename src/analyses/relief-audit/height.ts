import { type Estimate, isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { meanRate } from '../../stats/nested-predict.ts';
import type { Apart } from '../apart.ts';
import { type DesignColumns, designMatrix, sideBySide } from '../design-columns.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, commonest, countOf, type Grouping, groupingName } from '../groups.ts';
import { isDone, type ReliefRows } from './data.ts';
import { heightClasses } from './height-classes.ts';
import type { Done, ReliefOptions } from './options.ts';
import { OUTCOMES, type Scope, scoped } from './scopes.ts';

/** How a separation that cleared is counted: as height 0, or left out. */
type Counting = 'height' | 'still';
/** By days (mm per 30 days), or by trim cycle of whatever length (mm). */
export type Per = '30 days' | 'cycle';

export interface HeightChange {
  readonly scope: Scope;
  readonly counting: Counting;
  readonly per: Per;
  /** Mean change of each choice, and relieved less only bevelled. */
  readonly of: Readonly<Record<Done, Estimate>>;
  readonly difference: Estimate;
  /** Whether the height at the trim is held alike. */
  readonly isByHeight: boolean;
  readonly counts: Counts;
  readonly countsOf: Readonly<Record<Done, Counts>>;
  readonly where: string;
}

/** 0/1 less its mean over the rows, so that the choices' own columns stay means at the rows' mix. */
function centred(grouping: Grouping, coded: Coded, keep: readonly number[]): DesignColumns {
  const used = { levels: coded.levels, codes: Int32Array.from(keep, (row) => coded.codes[row]!) };
  const reference = commonest(used);
  const present = coded.levels
    .map((level, k) => ({ level, k }))
    .filter(({ k }) => k !== reference && used.codes.includes(k));
  return {
    names: present.map(({ level }) => `${groupingName(grouping)} ${level}`),
    at: present.map(({ k }) => {
      const share = used.codes.reduce((sum, c) => sum + (c === k ? 1 : 0), 0) / keep.length;
      return (row: number) => (coded.codes[row] === k ? 1 : 0) - share;
    }),
  };
}

/**
 * Change of the height over a cycle, relieved against only bevelled: the mixed model of growth, amounts through the
 * origin with random rates by horse and foot. But for the crude figure the height at the trim is held alike. Per cycle, every cycle counts as one unit of time.
 */
export async function heightChange(
  rows: ReliefRows,
  options: ReliefOptions,
  scope: Scope,
  counting: Counting,
  per: Per,
  apart: Apart,
): Promise<Outcome<HeightChange>> {
  const { keep, where } = scoped(rows, options, scope, OUTCOMES[counting]);
  const of = (done: Done) => keep.filter((row) => rows.relieved[row] === (done === 'relieved' ? 1 : 0));
  const groups = { relieved: of('relieved'), bevel_only: of('bevel_only') };
  if (groups.relieved.length === 0 || groups.bevel_only.length === 0) {
    return unavailable('no-overlap', 'no cycles of both kinds to compare: no evidence here.');
  }
  const choices: DesignColumns = {
    names: ['relieved', 'only bevelled'],
    at: [(row) => rows.relieved[row]!, (row) => 1 - rows.relieved[row]!],
  };
  const heights = heightClasses(rows.height, keep);
  const held =
    scope === 'crude'
      ? []
      : [
          centred('height', heights, keep),
          ...(scope === 'adjusted'
            ? [
                centred('distance', rows.place, keep),
                ...Array.from(rows.groups, ([grouping, coded]) => centred(grouping, coded, keep)),
              ]
            : []),
        ];
  const design = sideBySide(choices, ...held);
  const fit = await apart('nested slopes', {
    data: {
      days: Float64Array.from(keep, (row) => (per === 'cycle' ? 30 : rows.days[row]!)),
      y: Float64Array.from(keep, (row) => rows.heightNext[row]! - rows.height[row]!),
      x: designMatrix(design, keep),
      cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
      unit: Int32Array.from(keep, (row) => rows.foot[row]!),
    },
    names: design.names,
  });
  if (isUnavailable(fit)) return fit;
  const at = (relieved: number, bevelled: number): Estimate => {
    const x = new Float64Array(design.names.length);
    x[0] = relieved;
    x[1] = bevelled;
    return meanRate(fit, x);
  };
  return {
    scope,
    counting,
    per,
    of: { relieved: at(1, 0), bevel_only: at(0, 1) },
    difference: at(1, -1),
    isByHeight: scope !== 'crude' && heights.levels.length > 1,
    counts: countOf(rows.horse, rows.foot, keep),
    countsOf: {
      relieved: countOf(rows.horse, rows.foot, groups.relieved),
      bevel_only: countOf(rows.horse, rows.foot, groups.bevel_only),
    },
    where,
  };
}

/** The condition of the cycles of one choice among those compared. */
export const doneWhere = (where: string, done: Done): string => allOf(where, isDone(done));
