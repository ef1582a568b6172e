import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { numberAlike } from '../../stats/alike.ts';
import { type Cells, collapseRows } from '../../stats/cells.ts';
import { type BinaryFit, fitBinary } from '../../stats/cloglog.ts';
import { type Numbered, numberIds, numberKeys } from '../../stats/number-keys.ts';
import { fitOnsetSinceReset, type ResetFit } from '../../stats/onset-since-reset.ts';
import type { ResetMix } from '../../stats/standardise.ts';
import type { TransitionCells } from '../../stats/transition-data.ts';
import { BEGAN, ENDED } from '../cycle-kinds.ts';
import { designMatrix, sideBySide } from '../design-columns.ts';
import { inOrder } from '../foot-order.ts';
import { transitionsOf } from '../onset-cells.ts';
import { type AlikeCycles, COMPARISONS, type Comparison, logDays, onsetColumns, STATES } from './alike.ts';

type Pause = () => Promise<void>;

/**
 * The exact fits, in the order of the comparisons: the search for each begins where the one before it ended, which has
 * fewer terms.
 */
export async function fitChain(alike: AlikeCycles, pause: Pause): Promise<Outcome<ResetFit>[]> {
  const fits: Outcome<ResetFit>[] = [];
  for (const comparison of COMPARISONS) {
    await pause();
    const before = fits.at(-1);
    const near = before === undefined || isUnavailable(before) ? {} : { near: before };
    fits.push(
      comparison === 'within-horse' && isUnavailable(alike.usual)
        ? alike.usual
        : fitOnsetSinceReset(cellsOf(alike, comparison), near),
    );
  }
  return fits;
}

/** The regressions beside them; log(days) is the last column of each. */
export async function checkChain(alike: AlikeCycles, pause: Pause): Promise<Outcome<BinaryFit>[]> {
  const checks: Outcome<BinaryFit>[] = [];
  for (const comparison of COMPARISONS) {
    await pause();
    checks.push(
      comparison === 'within-horse' && isUnavailable(alike.usual) ? alike.usual : fitCheck(alike, comparison),
    );
  }
  return checks;
}

function cellsOf(alike: AlikeCycles, comparison: Comparison): TransitionCells {
  const { weight, states, kind, horse, kinds } = alike;
  const isCrude = comparison === 'crude';
  const code = kind.map((of, row) => STATES * (isCrude ? kinds.day[of]! : of) + states[row]!);
  // The usual interval is one of each horse: its rows differ already.
  const cells = comparison === 'within-horse' ? eachACell(alike) : collapseRows([code], horse, weight);
  const { firstRow } = cells;
  const ofCells = {
    start: Float64Array.from(firstRow, (row) => (states[row]! & BEGAN) / BEGAN),
    end: Float64Array.from(firstRow, (row) => states[row]! & ENDED),
    days: Float64Array.from(firstRow, (row) => kinds.days[kind[row]!]!),
  };
  const held = comparison === 'within-horse' ? heldWithin(alike) : undefined;
  return transitionsOf(cells, ofCells, onsetColumns(alike, comparison), held);
}

/** Rows of a horse differ in their states, days or levels, and come horse after horse. */
function eachACell({ weight, horse }: AlikeCycles): Cells {
  const rows = Int32Array.from(weight.keys());
  const { numberOf, firstRow } = numberIds(horse);
  return {
    nRows: weight.reduce((sum, of) => sum + of, 0),
    nCells: rows.length,
    nClusters: firstRow.length,
    firstRow: rows,
    count: weight,
    pairCluster: numberOf,
    pairCell: rows,
    pairCount: weight,
    pairRow: rows,
  };
}

/** Numbers rows by their levels and the usual interval of their horse. */
function heldWithin(alike: AlikeCycles): Numbered {
  const { kind, kinds } = alike;
  const usual = usualCodes(alike);
  return numberAlike([usual, inOrder(kinds.mix, kind)], kind.length);
}

/** For each row what numbers equal usual intervals alike. */
function usualCodes({ horse, usual }: AlikeCycles): Int32Array {
  const codes = isUnavailable(usual) ? null : numberKeys(usual, Number.POSITIVE_INFINITY).numberOf;
  return horse.map((of) => codes?.[of] ?? 0);
}

/** Of cycles that began clear. */
function fitCheck(alike: AlikeCycles, comparison: Comparison): Outcome<BinaryFit> {
  const { states, kind, horse, kinds } = alike;
  const held = comparison === 'crude' ? inOrder(kinds.day, kind) : kind;
  const columns = comparison === 'within-horse' ? [held, usualCodes(alike)] : [held];
  const ended = states.map((state) => state & ENDED);
  const cells = collapseRows([ended, ...columns], horse, atRisk(alike));
  const { firstRow } = cells;
  const timed = sideBySide(onsetColumns(alike, comparison), {
    names: ['log days'],
    at: [(row) => logDays(kinds.days[kind[row]!]!)],
  });
  return fitBinary({
    cells,
    event: Float64Array.from(firstRow, (row) => ended[row]!),
    x: designMatrix(timed, firstRow),
    terms: timed.names,
    alike: numberAlike(
      columns.map((column) => inOrder(column, firstRow)),
      firstRow.length,
    ),
  });
}

/** How often each row counts among those that began clear. */
const atRisk = ({ weight, states }: AlikeCycles): Float64Array =>
  weight.map((of, row) => ((states[row]! & BEGAN) === 0 ? of : 0));

/** The herd's own mix of cycles that began clear, in the columns of a comparison. */
export function mixAtRisk(alike: AlikeCycles, comparison: Comparison): ResetMix {
  const { kind, kinds } = alike;
  const mix = inOrder(kinds.mix, kind);
  const columns = { crude: [], adjusted: [mix], 'within-horse': [mix, usualCodes(alike)] };
  const cells = collapseRows(columns[comparison], new Int32Array(kind.length), atRisk(alike));
  return {
    onset: designMatrix(onsetColumns(alike, comparison), cells.firstRow),
    clearing: new Float64Array(cells.nCells).fill(1),
    weight: cells.count,
  };
}
