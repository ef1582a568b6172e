import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { CASE_DEFINITION } from '../../herd/problems.ts';
import type { Analysis, AnalysisResult, Finding, ResultTable } from '../analysis.ts';
import { type Apart, made } from '../apart.ts';
import { CAUTIONS } from '../cautions.ts';
import { counted, countsText } from '../format.ts';
import { allOf, countRows } from '../groups.ts';
import { inHorses } from '../in-horses.ts';
import { pacer } from '../pacing.ts';
import { recordedInCycles } from '../recorded.ts';
import { MANY_SPELLS, withEveryBand, withoutBands } from '../shared-bands.ts';
import { cyclesTitle, type ReliefAnswer, siteWords } from './answer.ts';
import { cyclesWhere, placeSql, type ReliefRows } from './data.ts';
import { doneShares } from './done.ts';
import { reliefEstimates } from './estimates.ts';
import { reliefFindings } from './findings.ts';
import { cycleConditions, gatherCycles, gatherSpells } from './gather.ts';
import { type HeightChange, heightChange } from './height.ts';
import { optionsSchema, type ReliefOptions } from './options.ts';
import { beginCurves, returnRatios, returnRefusals } from './returns.ts';
import { placesIn, type Scope } from './scopes.ts';
import { endingAnswer, scopeWords } from './shares.ts';
import {
  differencesTable,
  doneTable,
  heightDifferences,
  heightTable,
  returnsTable,
  sharesTable,
  strataTable,
} from './tables.ts';

/** Separated wall relieved from ground contact against only bevelled, by distance from the white line. */
export const reliefAudit: Analysis<ReliefOptions> = {
  name: 'relief-audit',
  title: 'Handling separated wall',
  question: 'Does separated wall do better relieved from ground contact, or only bevelled?',
  options: optionsSchema,
  async run(asked, context) {
    const { signal, progress } = context;
    const where = cyclesWhere(asked);
    const recorded = await recordedInCycles(context, cycleConditions(asked), where, asked.adjust);
    const options = { ...asked, adjust: [...recorded.kept] };
    const rows = await gatherCycles(context, options);
    if (rows.days.length === 0) return nothing(options);
    const spells = await gatherSpells(context, options);
    const pause = pacer(signal, 0);
    const apart = context.apart ?? made(pause);
    progress(0.1, 'Comparing like feet');
    // Asked for before the rest is worked out here: another thread begins with them.
    const heights = everyHeight(rows, options, apart);
    heights.catch(() => undefined);
    await pause();
    const found = {
      options,
      counts: countRows(rows.horse, rows.foot, () => true),
      done: doneShares(rows, options),
      broken: endingAnswer(rows, options, 'broken'),
      cleared: endingAnswer(rows, options, 'cleared'),
      ratios: returnRatios(spells, options),
    };
    const curves = beginCurves(spells, options);
    progress(0.3, 'Fitting the change of height');
    await pause();
    const answer = { ...found, ...(await heights) };
    if (spells.left.length >= MANY_SPELLS) {
      const tables = tablesOf({ ...answer, curves: curves.map(withoutBands) });
      context.draft?.({ tables, withoutBands: ['estimates', 'returns'], counts: answer.counts });
    }
    progress(0.6, 'Resampling horses for return');
    const bands = await withEveryBand(curves, { apart: context.apart, pause: pacer(signal) });
    const whole: ReliefAnswer = { ...answer, curves: bands };
    const leftOut = [...withoutDistance(rows, options), ...recorded.leftOut];
    return present(whole, [...reliefFindings(whole, context.lengths), ...leftOut], recorded.notes);
  },
};

async function everyHeight(
  rows: ReliefRows,
  options: ReliefOptions,
  apart: Apart,
): Promise<Pick<ReliefAnswer, 'heights' | 'heightsRefused'>> {
  const scopes: Scope[] = ['crude', 'adjusted', ...placesIn(rows)];
  const asked = (['30 days', 'cycle'] as const).flatMap((per) =>
    (['height', 'still'] as const).flatMap((counting) => scopes.map((scope) => ({ per, counting, scope }))),
  );
  const found = await Promise.all(
    asked.map(async ({ per, counting, scope }) => ({
      per,
      counting,
      scope,
      told: await heightChange(rows, options, scope, counting, per, apart),
    })),
  );
  const heights: HeightChange[] = [];
  const heightsRefused: Unavailable[] = [];
  for (const { per, counting, scope, told } of found) {
    if (!isUnavailable(told)) heights.push(told);
    else if (per === '30 days' && counting === 'height') {
      heightsRefused.push(
        unavailable(told.unavailable, `change of height, ${scopeWords(scope)}: ${told.sentence}`),
      );
    }
  }
  // Where the whole cannot be compared, neither can its parts: once is enough.
  const main = heights.filter(({ per, counting }) => per === '30 days' && counting === 'height');
  const whole = ['crude', 'adjusted'].every((scope) => main.some((row) => row.scope === scope));
  return { heights, heightsRefused: whole ? heightsRefused : heightsRefused.slice(0, 1) };
}

/** Cycles without a distance cannot be compared with like feet: how many, to be opened and mended. */
function withoutDistance(rows: ReliefRows, options: ReliefOptions): Finding[] {
  const where = allOf(cyclesWhere(options), `${placeSql(options)} IS NULL`);
  const n = rows.place.codes.reduce((sum, place) => sum + (place < 0 ? 1 : 0), 0);
  if (n === 0) return [];
  return [
    {
      sentence: `${counted(n, 'trim cycle', 'trim cycles')} without a distance from the white line could not take part in comparisons of like feet.`,
      caution: null,
      behind: { relation: 'trim_cycle', where, title: cyclesTitle(options, null, 'distance not recorded') },
    },
  ];
}

function frame(options: ReliefOptions): Pick<AnalysisResult, 'analysis' | 'assumes' | 'cautions' | 'method'> {
  return {
    analysis: 'relief-audit',
    assumes: [
      `Cycles that began with ${siteWords(options)} of grade 1 or more, with the handling recorded as relieved or as bevelled only.`,
      'A separation that had cleared by the next visit counts as height 0 there; beside it stand the figures of those still there at both ends, which leave out the ones that did best.',
      'Change of height is in proportion to the days of the cycle, though a height cannot fall below 0, so that fast loss is understated.',
      'How a foot was handled was the practitioner’s choice: feet that looked worse may have been handled otherwise, beyond distance and what else is held alike. A low separation clears sooner however it is handled: the change of height and the share cleared are compared at like heights, by classes.',
      'A wall counts as broken only where it was looked for; blank entries are left out.',
      CASE_DEFINITION,
    ],
    cautions: [CAUTIONS.foot_first, CAUTIONS.between_visits, CAUTIONS.record, CAUTIONS.own_scale],
    method: {
      name: 'Mixed model of the change of height; shares compared within strata of distance and breed type, each horse left out in turn; return by nonparametric maximum likelihood between visits',
      source:
        'Patterson & Thompson 1971, Biometrika 58:545–554; Mantel & Haenszel 1959, J Natl Cancer Inst 22:719–748; Efron & Stein 1981, Ann Stat 9:586–596; Turnbull 1976, J R Stat Soc B 38:290–295; Lindsey & Ryan 1998, Stat Med 17:219–238',
      doc: 'docs/methods/relief-audit.md',
    },
  };
}

const tablesOf = (answer: ReliefAnswer): ResultTable[] => [
  reliefEstimates(answer),
  doneTable(answer),
  heightTable(answer, '30 days'),
  heightTable(answer, 'cycle'),
  heightDifferences(answer),
  sharesTable(answer),
  differencesTable(answer),
  strataTable(answer),
  returnsTable(answer),
];

function present(
  answer: ReliefAnswer,
  findings: readonly Finding[],
  notes: readonly Unavailable[],
): AnalysisResult {
  const { broken, cleared, curves, ratios, counts, options, heightsRefused } = answer;
  const refused = [
    ...notes,
    ...heightsRefused,
    ...broken.refused,
    ...cleared.refused,
    ...returnRefusals(curves, ratios),
  ];
  const few =
    findings.length > 0 || counts.cycles === 0
      ? []
      : [
          unavailable(
            'one-cluster',
            `too few horses had ${siteWords(options)} handled in both ways to compare them (${countsText(counts)}).`,
          ),
        ];
  return {
    ...frame(options),
    tables: tablesOf(answer),
    findings,
    unavailable: [...few, ...refused].map(inHorses),
    counts,
  };
}

/** No cycle to judge by; the tables stand empty, so that pages still find their columns. */
function nothing(options: ReliefOptions): AnalysisResult {
  const none = { shares: [], differences: [], strata: [], isByHeight: false, refused: [] };
  const counts = { horses: 0, feet: 0, cycles: 0 };
  const answer = {
    options,
    counts,
    done: [],
    heights: [],
    broken: none,
    cleared: none,
    curves: [],
    ratios: [],
  };
  const why = unavailable(
    'no-rows',
    `no trim cycle here began with ${siteWords(options)} whose handling was recorded as relieved or as bevelled only.`,
  );
  return present({ ...answer, heightsRefused: [why] }, [], []);
}
