import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../../core/outcome.ts';
import { type ClusteredShare, clusteredContrast, clusteredShare } from '../../stats/design-effect.ts';
import { jackknifeMantelHaenszel, strataOf } from '../../stats/mantel-haenszel-jackknife.ts';
import type { Counts } from '../format.ts';
import { allOf, countOf, isLevel } from '../groups.ts';
import { isDone, isPlace, type ReliefRows } from './data.ts';
import { type HeightClasses, heightClasses, heightClassSql } from './height-classes.ts';
import { CHOICES, type Done, PLACES, type ReliefOptions } from './options.ts';
import { OUTCOMES, placesIn, type Scope, scoped } from './scopes.ts';

/** What a cycle ended with, yes or no. */
type Ending = 'broken' | 'cleared';
export const ENDINGS = { broken: 'wall broken away', cleared: 'separation cleared' } as const;

interface EndingShare {
  readonly ending: Ending;
  readonly scope: Scope;
  readonly done: Done;
  readonly share: ClusteredShare;
  readonly events: number;
  readonly counts: Counts;
  readonly where: string;
}

/** Relieved less only bevelled. */
interface EndingDifference {
  readonly ending: Ending;
  readonly scope: Scope;
  readonly difference: Estimate;
  readonly ratio: Estimate | null;
  readonly counts: Counts;
  readonly countsOf: Readonly<Record<Done, Counts>>;
  readonly where: string;
}

/** Feet alike in place and groupings, by choice; without both choices no evidence. */
interface StratumRow {
  readonly ending: Ending;
  readonly stratum: string;
  readonly events: Readonly<Record<Done, number>>;
  readonly rows: Readonly<Record<Done, number>>;
  readonly compared: boolean;
  readonly counts: Counts;
  readonly where: string;
}

export interface EndingAnswer {
  readonly shares: readonly EndingShare[];
  readonly differences: readonly EndingDifference[];
  readonly strata: readonly StratumRow[];
  /** Whether like feet are of like height at the trim too. */
  readonly isByHeight: boolean;
  readonly refused: readonly Unavailable[];
}

export function endingAnswer(rows: ReliefRows, options: ReliefOptions, ending: Ending): EndingAnswer {
  const scopes: Scope[] = ['crude', 'adjusted', ...placesIn(rows)];
  const shares: EndingShare[] = [];
  const differences: EndingDifference[] = [];
  const refused: Unavailable[] = [];
  for (const scope of scopes) {
    const of = scoped(rows, options, scope, OUTCOMES[ending]);
    const parts = CHOICES.map((done) => ({ done, keep: keepOf(rows, of.keep, done) }));
    if (scope !== 'adjusted') {
      for (const { done, keep } of parts) {
        const share = clusteredShare(outcomesOf(rows, ending, keep));
        if (isUnavailable(share)) continue;
        shares.push({
          ending,
          scope,
          done,
          share,
          events: keep.reduce((sum, row) => sum + rows[ending][row]!, 0),
          counts: countOf(rows.horse, rows.foot, keep),
          where: allOf(of.where, isDone(done)),
        });
      }
    }
    const told = difference(rows, ending, scope, of.keep);
    if (isUnavailable(told)) refused.push(said(ending, scope, told));
    else {
      differences.push({
        ending,
        scope,
        difference: told.difference,
        ratio: told.ratio,
        counts: countOf(rows.horse, rows.foot, of.keep),
        countsOf: {
          relieved: countOf(rows.horse, rows.foot, parts[0]!.keep),
          bevel_only: countOf(rows.horse, rows.foot, parts[1]!.keep),
        },
        where: of.where,
      });
    }
  }
  const { strata, isByHeight } = strataRows(rows, options, ending);
  return {
    shares,
    differences,
    strata,
    isByHeight,
    refused: telling(refused, differences),
  };
}

/** Where nothing can be compared at all once is enough; where no like feet can be, their single places cannot either. */
function telling(
  refused: readonly Unavailable[],
  differences: readonly Pick<EndingDifference, 'scope'>[],
): Unavailable[] {
  const has = (scope: Scope): boolean => differences.some((row) => row.scope === scope);
  return has('crude') && has('adjusted') ? [...refused] : refused.slice(0, 1);
}

const keepOf = (rows: ReliefRows, keep: readonly number[], done: Done): number[] =>
  keep.filter((row) => (rows.relieved[row] === 1) === (done === 'relieved'));

const outcomesOf = (rows: ReliefRows, ending: Ending, keep: readonly number[]) => ({
  success: Uint8Array.from(keep, (row) => rows[ending][row]!),
  cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
});

function difference(
  rows: ReliefRows,
  ending: Ending,
  scope: Scope,
  keep: readonly number[],
): Outcome<{ difference: Estimate; ratio: Estimate | null }> {
  if (keep.length === 0) return unavailable('no-rows', 'it was not looked for in these trim cycles.');
  if (scope !== 'adjusted') {
    const [relieved, bevelled] = CHOICES.map((done) => outcomesOf(rows, ending, keepOf(rows, keep, done)));
    if (relieved!.success.length === 0 || bevelled!.success.length === 0) {
      return unavailable('no-overlap', 'every foot was handled in the same way: no evidence here.');
    }
    return clusteredContrast(relieved!, bevelled!);
  }
  const { stratum, names } = strataCodes(rows, ending, keep);
  const pooled = jackknifeMantelHaenszel(
    {
      stratum,
      exposed: Uint8Array.from(keep, (row) => rows.relieved[row]!),
      event: Uint8Array.from(keep, (row) => rows[ending][row]!),
      cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
    },
    names.length,
  );
  return isUnavailable(pooled) ? pooled : { difference: pooled.riskDifference, ratio: pooled.riskRatio };
}

/**
 * Feet alike in place and groupings. A low separation clears sooner however it is handled, so that what has cleared is
 * set side by side at like heights as well; wall breaks at any.
 */
function strataCodes(
  rows: ReliefRows,
  ending: Ending,
  keep: readonly number[],
): { stratum: Int32Array; names: string[]; heights: HeightClasses | null } {
  const classes = ending === 'cleared' ? heightClasses(rows.height, keep) : null;
  const heights = classes && classes.levels.length > 1 ? classes : null;
  const name = (row: number): string =>
    [
      PLACES[rows.place.codes[row]!],
      ...Array.from(rows.groups.values(), ({ levels, codes }) => levels[codes[row]!]),
      ...(heights ? [heights.levels[heights.codes[row]!] ?? 'height not recorded'] : []),
    ].join(', ');
  const all = keep.map(name);
  const names = [...new Set(all)].sort();
  const at = new Map(names.map((each, k) => [each, k]));
  return { stratum: Int32Array.from(all, (each) => at.get(each)!), names, heights };
}

function strataRows(
  rows: ReliefRows,
  options: ReliefOptions,
  ending: Ending,
): Pick<EndingAnswer, 'strata' | 'isByHeight'> {
  const { keep, where } = scoped(rows, options, 'adjusted', OUTCOMES[ending]);
  const { stratum, names, heights } = strataCodes(rows, ending, keep);
  const alike = (row: number): string =>
    allOf(
      where,
      isPlace(options, PLACES[rows.place.codes[row]!]!),
      ...Array.from(rows.groups, ([grouping, { levels, codes }]) => isLevel(grouping, levels[codes[row]!]!)),
      heights ? heightClassSql(heights, heights.codes[row]!) : null,
    );
  const strata = strataOf(
    {
      stratum,
      exposed: Uint8Array.from(keep, (row) => rows.relieved[row]!),
      event: Uint8Array.from(keep, (row) => rows[ending][row]!),
      cluster: Int32Array.from(keep, (row) => rows.horse[row]!),
    },
    names.length,
  );
  const told = strata.map((each, k) => ({
    ending,
    stratum: names[k]!,
    events: { relieved: each.exposedEvents, bevel_only: each.unexposedEvents },
    rows: { relieved: each.exposedRows, bevel_only: each.unexposedRows },
    compared: each.exposedRows > 0 && each.unexposedRows > 0,
    counts: countOf(
      rows.horse,
      rows.foot,
      keep.filter((_, i) => stratum[i] === k),
    ),
    where: alike(keep[stratum.indexOf(k)]!),
  }));
  return { strata: told, isByHeight: heights !== null };
}

export const scopeWords = (scope: Scope): string =>
  scope === 'crude' ? 'as recorded' : scope === 'adjusted' ? 'like feet' : scope;

function said(ending: Ending, scope: Scope, why: Unavailable): Unavailable {
  return unavailable(
    why.unavailable,
    `${ENDINGS[ending]} by the next visit, ${scopeWords(scope)}: ${why.sentence}`,
  );
}
