import { isUnavailable, type Outcome, type Unavailable } from '../../core/outcome.ts';
import { fitNestedSlopes, type NestedSlopesFit } from '../../stats/nested-slopes.ts';
import type { Analysis, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { requireGroupings } from '../groups.ts';
import type { GrowthAnswer } from './answer.ts';
import { type GrowthRows, gatherGrowth, growthGroupings, growthSql } from './data.ts';
import { type GrowthDesign, growthDesign } from './design.ts';
import { growthFindings } from './findings.ts';
import { type GrowthOptions, optionsSchema } from './options.ts';
import { growthEstimates, growthLevels, growthPerHorse, growthSeason } from './tables.ts';

/**
 * Net growth between trims, mm per 30 days of 24 hours: amounts through the origin with random rates by horse and
 * foot, season integrated over each cycle. Flagged cycles are left out and counted.
 */
export const growth: Analysis<GrowthOptions> = {
  name: 'growth',
  title: 'Growth',
  question: 'How fast do the feet grow between trims?',
  options: optionsSchema,
  async run(options, { engine, signal, progress }) {
    await requireGroupings(engine, 'trim_cycle', growthGroupings(options));
    const { sql, where } = growthSql(options);
    const rows = gatherGrowth(await engine.query(sql, signal));
    progress(0.3, 'Fitting growth');
    const { design, fit } = fitBest(rows, options);
    if (isUnavailable(fit)) return empty(rows, fit);
    const answer: GrowthAnswer = { options, rows, design, fit, where };
    return {
      ...frame(rows),
      tables: [growthEstimates(answer), growthLevels(answer), growthPerHorse(answer), growthSeason(answer)],
      findings: growthFindings(answer),
      unavailable: design.notes,
      assumes: assumptions(answer),
    };
  },
};

/** With season where the record can show one; without where it cannot, and said. */
function fitBest(
  rows: GrowthRows,
  options: GrowthOptions,
): { design: GrowthDesign; fit: Outcome<NestedSlopesFit> } {
  let design = growthDesign(rows, options, true);
  let fit = fitDesign(rows, design);
  if (isUnavailable(fit) && (fit.unavailable === 'collinear' || fit.unavailable === 'no-rows')) {
    const plain = growthDesign(rows, options, false);
    const second = fitDesign(rows, plain);
    if (!isUnavailable(second)) {
      design = plain;
      fit = second;
    }
  }
  return { design, fit };
}

function fitDesign(rows: GrowthRows, design: GrowthDesign): Outcome<NestedSlopesFit> {
  return fitNestedSlopes(
    { days: rows.days, y: rows.amount, x: design.x, cluster: rows.horse, unit: rows.foot },
    { names: design.names },
  );
}

function frame(rows: GrowthRows): Pick<AnalysisResult, 'analysis' | 'cautions' | 'method' | 'counts'> {
  return {
    analysis: 'growth',
    cautions: [CAUTIONS.small_numbers, CAUTIONS.record],
    method: {
      name: 'Mixed model of growth through the origin, fitted by restricted maximum likelihood (REML)',
      source: 'Patterson & Thompson 1971, Biometrika 58:545–554; Robinson 1991, Stat Sci 6:15–32',
      doc: 'docs/methods/growth.md',
    },
    counts: rows.counts,
  };
}

function empty(rows: GrowthRows, why: Unavailable): AnalysisResult {
  const sentence = `Growth cannot be estimated: ${why.sentence}`;
  return {
    ...frame(rows),
    tables: [growthEstimates(null)],
    findings: [],
    unavailable: [{ ...why, sentence }],
    assumes: [],
  };
}

function assumptions({ fit, design }: GrowthAnswer): string[] {
  const given = [
    'The toe is measured to the same two points before and after every trim; each reading carries an error of its own.',
    'Growth over a cycle is in proportion to its days; it differs by horse and by foot around the group’s mean.',
    'A rate is for 30 days; divide by 30 for a day.',
  ];
  if (design.season)
    given.push('One yearly rise and fall, the same for all horses, weighed over each whole cycle.');
  if (fit.method === 'least-squares')
    given.push('One horse, or no repeats: plain least squares, nothing pooled.');
  return given;
}
