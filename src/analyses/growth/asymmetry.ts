import { type Estimate, type Outcome, unavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { unitDifference } from '../../stats/nested-predict.ts';
import type { Finding, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { type Counts, counted, figure } from '../format.ts';
import { allOf, isLevel, placeOf } from '../groups.ts';
import type { LengthWords } from '../lengths.ts';
import { behindColumns, estimateColumns, shownEstimate } from '../result-parts.ts';
import type { GrowthAnswer } from './answer.ts';
import { calledNames } from './called.ts';
import { MEASURES } from './options.ts';

const PAIRS = { fore: ['LF', 'RF'], hind: ['LH', 'RH'] } as const;
type Pair = keyof typeof PAIRS;

/** Rate of a left foot less that of the right one of its pair, drawn towards none. */
export interface PairDifference {
  readonly horse: number;
  readonly pair: Pair;
  readonly difference: Estimate;
  readonly counts: Counts;
}

/**
 * Every pair, of all horses or of those at these places, of which both feet have a record; typed where the model shows no
 * spread between the feet of a horse.
 */
export function pairDifferences(
  { rows, design, fit }: GrowthAnswer,
  horses: Iterable<number> = rows.horseIds.keys(),
): Outcome<PairDifference[]> {
  if (!fit.estimable.unit || fit.variances.unit === 0) {
    return unavailable(
      'one-level',
      fit.estimable.unit
        ? 'the feet of one horse differ by no more than the measuring does in these records, so left and right are not set against each other.'
        : 'too little repeats in these records to tell left from right within a horse.',
    );
  }
  const place = new Int32Array(rows.footKeys.length).fill(-1);
  for (let unit = 0; unit < fit.unitIds.length; unit++) place[fit.unitIds[unit]!] = unit;
  const cycles = new Float64Array(rows.footKeys.length);
  for (let row = 0; row < rows.foot.length; row++) cycles[rows.foot[row]!]! += 1;
  const x = footPoints(rows, design);
  const p = design.names.length;
  return Array.from(horses).flatMap((horse) =>
    (Object.keys(PAIRS) as Pair[]).flatMap((pair) => {
      const id = rows.horseIds[horse];
      const [left, right] = PAIRS[pair].map((foot) => placeOf(rows.footKeys, `${id} ${foot}`)) as [
        number,
        number,
      ];
      if (left < 0 || right < 0) return [];
      const apart = Float64Array.from({ length: p }, (_, j) => x[left * p + j]! - x[right * p + j]!);
      return [
        {
          horse,
          pair,
          difference: unitDifference(fit, place[left]!, place[right]!, apart),
          counts: { horses: 1, feet: 2, cycles: cycles[left]! + cycles[right]! },
        },
      ];
    }),
  );
}

/** Where single feet are told apart in the design, each foot's own columns; 0 elsewhere: a pair shares all the rest. */
function footPoints(rows: GrowthAnswer['rows'], design: GrowthAnswer['design']): Float64Array {
  const p = design.names.length;
  const points = new Float64Array(rows.footKeys.length * p);
  const ofFoot = design.groupings.flatMap((grouping, j) => (grouping === 'foot' ? [j] : []));
  for (const j of ofFoot) {
    for (let row = 0; row < rows.foot.length; row++) points[rows.foot[row]! * p + j] = design.x[row * p + j]!;
  }
  return points;
}

export function growthAsymmetry(answer: GrowthAnswer, pairs: readonly PairDifference[]): ResultTable {
  const { rows, where, options } = answer;
  const { term, unit } = MEASURES[options.measure];
  const called = calledNames(rows);
  return {
    name: 'asymmetry',
    title: `Left less right: ${term} of each pair of feet`,
    relation: 'trim_cycle',
    columns: [
      { name: 'horse_id', label: 'Horse' },
      { name: 'horse_name', label: 'Name' },
      { name: 'pair', label: 'Pair' },
      { name: 'horse_pair', label: 'Horse and pair' },
      ...shownEstimate('Left less right', 2, unit),
      { name: 'rank', label: 'Place, furthest apart first', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
    ],
    table: makeTable({
      horse_id: textColumn(pairs.map(({ horse }) => rows.horseIds[horse])),
      horse_name: textColumn(pairs.map(({ horse }) => rows.horseNames[horse])),
      pair: textColumn(pairs.map(({ pair }) => pair)),
      horse_pair: textColumn(pairs.map(({ horse, pair }) => `${called[horse]} ${pair}`)),
      ...estimateColumns(pairs.map(({ difference }) => difference)),
      rank: numberColumn(furthestFirst(pairs)),
      n_feet: numberColumn(pairs.map(({ counts }) => counts.feet)),
      n_cycles: numberColumn(pairs.map(({ counts }) => counts.cycles)),
      ...behindColumns(pairs.map((pair) => pairBehind(pair, answer, where))),
    }),
  };
}

/** Place of each pair when those furthest apart come first. */
function furthestFirst(pairs: readonly PairDifference[]): number[] {
  const size = (i: number): number => Math.abs(pairs[i]!.difference.estimate);
  const places = new Array<number>(pairs.length).fill(0);
  [...pairs.keys()]
    .sort((a, b) => size(b) - size(a) || a - b)
    .forEach((i, place) => {
      places[i] = place + 1;
    });
  return places;
}

function pairBehind({ horse, pair }: PairDifference, { rows, options }: GrowthAnswer, where: string) {
  const id = rows.horseIds[horse]!;
  const feet = PAIRS[pair].map((foot) => literal(foot)).join(', ');
  return {
    where: allOf(where, isLevel('horse_id', id), `"foot" IN (${feet})`),
    title: `${MEASURES[options.measure].term}, ${pair} feet of ${rows.horseNames[horse] ?? id}`,
  };
}

/** How many pairs stand apart, and the one furthest. */
export function asymmetryFinding(
  answer: GrowthAnswer,
  pairs: readonly PairDifference[],
  words: LengthWords,
): Finding[] {
  if (pairs.length === 0) return [];
  const apart = pairs.filter(({ difference: { low, high } }) => low > 0 || high < 0);
  const widest = pairs.reduce((a, b) =>
    Math.abs(b.difference.estimate) > Math.abs(a.difference.estimate) ? b : a,
  );
  const { horse, pair, difference } = widest;
  const { estimate, low, high } = difference;
  const { unit } = MEASURES[answer.options.measure];
  const { where, title } = pairBehind(widest, answer, answer.where);
  return [
    {
      sentence: `Of ${counted(pairs.length, 'left–right pair of feet', 'left–right pairs of feet')}, ${apart.length === 0 ? 'none has' : `${figure(apart.length)} ${apart.length === 1 ? 'has' : 'have'}`} an interval of left less right that leaves out 0. Furthest apart is the ${pair} pair of ${answer.rows.horseIds[horse]}: left less right is an estimated ${words.quantity(estimate, unit, 2)} (${words.interval95(low, high, unit, 2)}).`,
      caution: CAUTIONS.small_numbers,
      behind: { relation: 'trim_cycle', where, title },
    },
  ];
}
