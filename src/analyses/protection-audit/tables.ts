import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import type { ResultTable } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf } from '../groups.ts';
import {
  type Bounded,
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shownEstimate,
  shownShares,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { ProtectionAnswer } from './answer.ts';
import { type Counted, type LikeFeet, noEvidence, type Tender } from './compare.ts';
import { AUDITED, GRADED, isAdvice, isStratum, LEFT_BARE } from './data.ts';
import { ADVICE_WORDS, type Advice } from './verdict.ts';

export const LEVEL_WORDS: Readonly<Record<Advice | 'all', string>> = { ...ADVICE_WORDS, all: 'all feet' };

const byRule = (advice: Advice): string =>
  advice === 'unknown' ? ADVICE_WORDS.unknown : `by your rule: ${ADVICE_WORDS[advice]}`;

/** SQL of the audited cycles of an advice; `all` of those of which the rule can say, or of every one. */
export function adviceWhere({ advice }: ProtectionAnswer, of: Advice | 'all', every = false): string {
  if (of === 'all') return allOf(AUDITED, every ? null : `(${advice}) <> 'unknown'`);
  return allOf(AUDITED, isAdvice(advice, of));
}

const doneWhere = (done: Tender['done']): string => (done === 'bare' ? LEFT_BARE : `NOT (${LEFT_BARE})`);

export const tenderWhere = (answer: ProtectionAnswer, { advice, done }: Tender): string =>
  allOf(adviceWhere(answer, advice, true), GRADED, doneWhere(done));

export const pooledWhere = (
  answer: ProtectionAnswer,
  of: Advice | 'all',
  strata: readonly string[],
): string => allOf(adviceWhere(answer, of, true), GRADED, isStratum(answer.stratum, strata));

/** The share with its interval; without one where horses are too few for it. */
function shownShare({ counts, cases, share }: Counted): {
  estimate: number;
  low: number | null;
  high: number | null;
  stdError: number | null;
} {
  if (isUnavailable(share)) return { estimate: cases / counts.cycles, low: null, high: null, stdError: null };
  return share;
}

const inPerCent = (share: Bounded): Bounded => {
  const of = (value: number | null) => (value === null ? null : value * 100);
  return { estimate: of(share.estimate), low: of(share.low), high: of(share.high) };
};

const inPoints = ({ estimate, low, high, stdError }: Estimate): Estimate => ({
  estimate: estimate * 100,
  low: low * 100,
  high: high * 100,
  stdError: stdError === null ? null : stdError * 100,
});

export function protectionEstimates(answer: ProtectionAnswer): ResultTable {
  const row = (
    term: string,
    level: Advice | 'all',
    unit: string,
    figure: { estimate: number; low: number | null; high: number | null; stdError: number | null },
    counts: Counts,
    behind: string,
  ): TidyRow => ({
    problem: null,
    term,
    level: LEVEL_WORDS[level],
    ...figure,
    unit,
    counts,
    behind,
    behindTitle: `${term}: ${LEVEL_WORDS[level]}`,
  });
  const followed = answer.agreements.flatMap(({ advice, followed }) =>
    followed.counts.cycles === 0
      ? []
      : [
          row(
            'left as the rule says',
            advice,
            'share',
            shownShare(followed),
            followed.counts,
            adviceWhere(answer, advice),
          ),
        ],
  );
  const tender = answer.tender.flatMap((each) =>
    each.tender.counts.cycles === 0
      ? []
      : [
          row(
            `tender at the next visit, ${each.done === 'bare' ? 'left bare' : 'protected'}`,
            each.advice,
            'share',
            shownShare(each.tender),
            each.tender.counts,
            tenderWhere(answer, each),
          ),
        ],
  );
  const pooled = answer.pooled.flatMap(({ advice, pooled, counts, strata }) => {
    if (isUnavailable(pooled)) return [];
    const where = pooledWhere(answer, advice, strata);
    const term = 'tender, bare against protected, like with like';
    return [
      row(`${term}: difference`, advice, 'points', inPoints(pooled.riskDifference), counts, where),
      ...(pooled.riskRatio ? [row(`${term}: ratio`, advice, 'ratio', pooled.riskRatio, counts, where)] : []),
    ];
  });
  return tidyTable('protection-audit', 'Sole protection in figures', [...followed, ...tender, ...pooled], 3);
}

/** Two by two: what the rule says and what was done. */
export function agreementTable(answer: ProtectionAnswer): ResultTable {
  const rows = answer.agreements
    .filter(({ advice, followed }) => advice !== 'all' && followed.counts.cycles > 0)
    .map(({ advice, followed }) => {
      const bare = advice === 'bare' ? followed.cases : followed.counts.cycles - followed.cases;
      return { advice, followed, bare, kept: followed.counts.cycles - bare };
    });
  return {
    name: 'agreement',
    title: 'What your rule says and what was done',
    relation: 'trim_cycle',
    columns: [
      { name: 'advice', label: 'Your rule says' },
      { name: 'n_bare', label: 'Left bare', digits: 0 },
      { name: 'n_protected', label: 'Protected', digits: 0 },
      ...shownEstimate('Left as it says', 1, '%'),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      advice: textColumn(rows.map(({ advice }) => LEVEL_WORDS[advice])),
      n_bare: numberColumn(rows.map(({ bare }) => bare)),
      n_protected: numberColumn(rows.map(({ kept }) => kept)),
      ...estimateColumns(rows.map(({ followed }) => inPerCent(shownShare(followed)))),
      ...countColumns(rows.map(({ followed }) => followed.counts)),
      ...behindColumns(
        rows.map(({ advice }) => ({
          where: adviceWhere(answer, advice),
          title: `your rule says: ${LEVEL_WORDS[advice]}`,
        })),
      ),
    }),
  };
}

/** Tender at the next visit by what the rule says and what was done. */
export function tenderTable(answer: ProtectionAnswer): ResultTable {
  const rows = answer.tender.filter(({ tender }) => tender.counts.cycles > 0);
  return {
    name: 'tender',
    title: 'Tender at the next visit, as counted',
    relation: 'trim_cycle',
    columns: [
      { name: 'advice', label: 'Your rule says' },
      { name: 'done', label: 'Left' },
      { name: 'n_tender', label: 'Tender', digits: 0 },
      ...shownShares('Share tender'),
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      advice: textColumn(rows.map(({ advice }) => LEVEL_WORDS[advice])),
      done: textColumn(rows.map(({ done }) => done)),
      n_tender: numberColumn(rows.map(({ tender }) => tender.cases)),
      ...estimateColumns(rows.map(({ tender }) => shownShare(tender))),
      ...countColumns(rows.map(({ tender }) => tender.counts)),
      ...behindColumns(
        rows.map((each) => ({
          where: tenderWhere(answer, each),
          title: `${LEVEL_WORDS[each.advice]}, left ${each.done}, graded at the next visit`,
        })),
      ),
    }),
  };
}

/** What rules would leave bare, side by side. */
export function rulesTable({ rules, agreements }: ProtectionAnswer, total: number): ResultTable {
  const shown = agreements.length > 0 && total > 0 ? rules : [];
  const share = (of: Counted) => (of.counts.cycles > 0 ? inPerCent(shownShare(of)) : null);
  return {
    name: 'rules',
    title: 'Rules side by side',
    relation: 'trim_cycle',
    columns: [
      { name: 'rule', label: 'Rule' },
      { name: 'n_cycles', label: 'Would leave bare', digits: 0 },
      { name: 'bare_share', label: 'of all', unit: '%', digits: 1 },
      { name: 'n_unknown', label: 'Cannot say', digits: 0 },
      { name: 'n_left_bare', label: 'Of them left bare', digits: 0 },
      { name: 'n_tender', label: 'of them tender then', digits: 0 },
      { name: 'tender_share', label: 'Tender then', unit: '%', digits: 1 },
      { name: 'tender_low', label: '95\u00a0% from', digits: 1 },
      { name: 'tender_high', label: 'to', digits: 1 },
      { name: 'n_horses', label: 'Horses', digits: 0 },
    ],
    table: makeTable({
      rule: textColumn(shown.map(({ name }) => name)),
      bare_share: numberColumn(shown.map(({ bare }) => (100 * bare.counts.cycles) / total)),
      n_unknown: numberColumn(shown.map(({ unknown }) => unknown)),
      n_left_bare: numberColumn(shown.map(({ tender }) => tender.counts.cycles)),
      n_tender: numberColumn(shown.map(({ tender }) => tender.cases)),
      tender_share: numberColumn(shown.map(({ tender }) => share(tender)?.estimate)),
      tender_low: numberColumn(shown.map(({ tender }) => share(tender)?.low)),
      tender_high: numberColumn(shown.map(({ tender }) => share(tender)?.high)),
      ...countColumns(shown.map(({ bare }) => bare.counts)),
      ...behindColumns(
        shown.map(({ name, advice }) => ({
          where: allOf(AUDITED, isAdvice(advice, 'bare')),
          title: `${name}: would be left bare`,
        })),
      ),
    }),
  };
}

/** Groups of like feet that hold both bare and protected feet, the largest first. */
export function strataTable(answer: ProtectionAnswer): ResultTable {
  const rows = answer.likeFeet.flatMap((group) =>
    isUnavailable(group.contrast) || noEvidence(group) !== null
      ? []
      : [{ ...group, contrast: group.contrast }],
  );
  return {
    name: 'strata',
    title: 'Bare against protected, like with like',
    relation: 'trim_cycle',
    columns: [
      { name: 'stratum', label: 'Feet alike' },
      { name: 'advice', label: 'Your rule says' },
      ...shownEstimate('Tender when bare less tender when protected', 1, 'points of 100'),
      { name: 'ratio', label: 'Ratio', digits: 2 },
      { name: 'ratio_low', label: '95\u00a0% from', digits: 2 },
      { name: 'ratio_high', label: 'to', digits: 2 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      place: numberColumn(rows.map((_, k) => k + 1)),
      stratum: textColumn(rows.map(({ stratum }) => stratum)),
      advice: textColumn(rows.map(({ advice }) => byRule(advice))),
      ...estimateColumns(rows.map(({ contrast }) => inPoints(contrast.difference))),
      ratio: numberColumn(rows.map(({ contrast }) => contrast.ratio?.estimate)),
      ratio_low: numberColumn(rows.map(({ contrast }) => contrast.ratio?.low)),
      ratio_high: numberColumn(rows.map(({ contrast }) => contrast.ratio?.high)),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(rows.map((row) => ({ where: groupWhere(answer, row), title: row.stratum }))),
    }),
  };
}

/** Every group of like feet as counted, those without evidence too. */
export function likeFeetTable(answer: ProtectionAnswer): ResultTable {
  // Those with one kind of feet first, then others that cannot be compared; what can be is drawn.
  const turn = (row: LikeFeet): number =>
    row.bare.rows === 0 || row.protected.rows === 0 ? 0 : noEvidence(row) !== null ? 1 : 2;
  const rows = [0, 1, 2].flatMap((k) => answer.likeFeet.filter((row) => turn(row) === k));
  return {
    name: 'like_feet',
    title: 'Feet that are alike, as counted',
    relation: 'trim_cycle',
    columns: [
      { name: 'stratum', label: 'Feet alike' },
      { name: 'advice', label: 'Your rule says' },
      { name: 'n_bare', label: 'Left bare', digits: 0 },
      { name: 'tender_bare', label: 'of them tender next', digits: 0 },
      { name: 'n_protected', label: 'Protected', digits: 0 },
      { name: 'tender_protected', label: 'of them tender next', digits: 0 },
      { name: 'evidence', label: 'Evidence' },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      stratum: textColumn(rows.map(({ stratum }) => stratum)),
      advice: textColumn(rows.map(({ advice }) => LEVEL_WORDS[advice])),
      n_bare: numberColumn(rows.map(({ bare }) => bare.rows)),
      tender_bare: numberColumn(rows.map(({ bare }) => bare.tender)),
      n_protected: numberColumn(rows.map((row) => row.protected.rows)),
      tender_protected: numberColumn(rows.map((row) => row.protected.tender)),
      evidence: textColumn(rows.map((row) => noEvidence(row) ?? 'bare and protected can be compared')),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(rows.map((row) => ({ where: groupWhere(answer, row), title: row.stratum }))),
    }),
  };
}

const groupWhere = (
  answer: ProtectionAnswer,
  row: { readonly advice: Advice; readonly stratum: string },
): string => pooledWhere(answer, row.advice, [row.stratum]);
