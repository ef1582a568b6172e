import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { type Coefficient, coefficient } from '../../stats/predictor-fit.ts';
import { fitTwoStateMarkov, type MarkovFit, type MarkovSummary } from '../../stats/two-state-markov.ts';
import { type AlikeRows, alikeRows, alikeWhere } from '../alike-rows.ts';
import {
  type DesignColumns,
  designMatrix,
  INTERCEPT,
  levelColumns,
  sideBySide,
  usedColumns,
} from '../design-columns.ts';
import { type Coded, commonest, type Grouping, groupingName, rowsByLevel } from '../groups.ts';
import { ratesInPlainWords } from '../two-state-words.ts';
import { type PairRows, type Seen, seenIn } from './data.ts';

/** Rates of one level, from its own rows alone. */
export interface LevelFit {
  /** Null for the whole herd. */
  readonly level: string | null;
  readonly summary: Outcome<MarkovSummary>;
  readonly seen: Seen;
}

/** One level's rates over those of the commonest, on the log scale. */
export interface LevelRatio {
  readonly level: string;
  readonly comparison: 'crude' | 'adjusted';
  readonly onset: Coefficient;
  readonly clearing: Coefficient;
  /** Rows of the level and of the one that it is compared with, as the fit used them. */
  readonly seen: Seen;
}

export interface Comparison {
  readonly comparison: LevelRatio['comparison'];
  readonly reference: string;
  readonly ratios: readonly LevelRatio[];
  /** Levels whose rows all began in one state: left out, since one of their two rates shows nowhere. */
  readonly leftOut: readonly OneState[];
}

interface OneState {
  readonly grouping: Grouping;
  readonly level: string;
}

function fitRows(
  rows: PairRows,
  { rows: keep, weight }: AlikeRows,
  columns: DesignColumns,
): Outcome<MarkovFit> {
  const x = designMatrix(columns, keep);
  return fitTwoStateMarkov({
    start: keep.map((row) => rows.start[row]!),
    end: keep.map((row) => rows.end[row]!),
    time: keep.map((row) => rows.years[row]!),
    onset: x,
    onsetTerms: columns.names.map((name) => `onset, ${name}`),
    clearing: x,
    clearingTerms: columns.names.map((name) => `clearing, ${name}`),
    cluster: keep.map((row) => rows.horse[row]!),
    weight,
  });
}

/** Cycles of one horse that no comparison can tell apart. */
export const alikePairs = (rows: PairRows): AlikeRows =>
  alikeRows(
    [rows.start, rows.end, rows.years, ...Array.from(rows.groups.values(), ({ codes }) => codes)],
    rows.horse,
  );

const everyRow = (rows: PairRows): number[] => Array.from(rows.years.keys());

function levelFit(rows: PairRows, alike: AlikeRows, keep: readonly number[], level: string | null): LevelFit {
  return {
    level,
    summary: ratesInPlainWords(fitRows(rows, alike, INTERCEPT)),
    seen: seenIn(rows, keep),
  };
}

/** The herd, then each level on its own. */
export function levelFits(rows: PairRows, alike: AlikeRows, by: Grouping | 'none'): LevelFit[] {
  const whole = levelFit(rows, alike, everyRow(rows), null);
  const coded = by === 'none' ? undefined : rows.groups.get(by);
  if (!coded) return [whole];
  const keeps = rowsByLevel(coded);
  return [
    whole,
    ...coded.levels.map((level, k) =>
      levelFit(
        rows,
        alikeWhere(alike, (row) => coded.codes[row] === k),
        keeps[k]!,
        level,
      ),
    ),
  ];
}

/** Levels against the commonest, alone or with the other groupings held alike. */
export function compareLevels(
  rows: PairRows,
  alike: AlikeRows,
  by: Grouping,
  comparison: LevelRatio['comparison'],
): Outcome<Comparison> {
  const used = [...rows.groups].filter(([grouping]) => comparison === 'adjusted' || grouping === by);
  const known = everyRow(rows).filter((row) => used.every(([, { codes }]) => codes[row]! >= 0));
  const { keep, leftOut } = withBothStates(rows, used, known);
  const levelsOf = ({ levels, codes }: Coded): Coded => ({
    levels,
    codes: Int32Array.from(keep, (row) => codes[row]!),
  });
  const own = rows.groups.get(by)!;
  const reference = commonest(levelsOf(own));
  const parts = used.map(([grouping, coded]) => {
    const from = grouping === by ? reference : commonest(levelsOf(coded));
    return usedColumns(levelColumns(grouping, coded, from), keep);
  });
  const kept = new Uint8Array(rows.years.length);
  for (const row of keep) kept[row] = 1;
  const fit = fitRows(
    rows,
    alikeWhere(alike, (row) => kept[row] === 1),
    sideBySide(INTERCEPT, ...parts),
  );
  if (isUnavailable(fit)) return fit;
  const p = fit.onsetTerms.length;
  const ratios = own.levels.flatMap((level, k): LevelRatio[] => {
    const at = fit.onsetTerms.indexOf(`onset, ${groupingName(by)} ${level}`);
    if (at < 0) return [];
    const both = keep.filter((row) => own.codes[row] === k || own.codes[row] === reference);
    return [
      {
        level,
        comparison,
        onset: coefficient(fit, at),
        clearing: coefficient(fit, p + at),
        seen: seenIn(rows, both),
      },
    ];
  });
  return { comparison, reference: own.levels[reference]!, ratios, leftOut };
}

/** Rows of levels that were seen to begin both clear and affected, until all that are left were. */
function withBothStates(
  rows: PairRows,
  used: readonly (readonly [Grouping, Coded])[],
  known: readonly number[],
): { keep: readonly number[]; leftOut: OneState[] } {
  const leftOut: OneState[] = [];
  let keep = known;
  for (let changed = true; changed; ) {
    changed = false;
    for (const [grouping, { levels, codes }] of used) {
      const seen = levels.map(() => [false, false]);
      for (const row of keep) seen[codes[row]!]![rows.start[row]!] = true;
      levels.forEach((level, k) => {
        const [clear, affected] = seen[k]!;
        if (clear === affected) return;
        leftOut.push({ grouping, level });
        keep = keep.filter((row) => codes[row] !== k);
        changed = true;
      });
    }
  }
  return { keep, leftOut };
}
