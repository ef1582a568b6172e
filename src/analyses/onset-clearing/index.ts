import { isUnavailable } from '../../core/outcome.ts';
import { CASE_DEFINITION } from '../../herd/problems.ts';
import type { Analysis, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { cycleTable } from '../cycle-table.ts';
import { gradedCycles } from '../graded-cycles.ts';
import { levelRates } from '../level-rates.ts';
import { pacer } from '../pacing.ts';
import { pairCells } from '../pair-cells.ts';
import { type Recorded, recordedInCycles } from '../recorded.ts';
import { type OnsetAnswer, ratioRows } from './answer.ts';
import { crudeWhere, gatherPairs, heldAlike, onsetAsk } from './data.ts';
import { onsetFindings, onsetRefusals } from './findings.ts';
import { compareLevels } from './fits.ts';
import { type OnsetOptions, optionsSchema } from './options.ts';
import { onsetEstimates, onsetLevels, onsetRates, onsetRatios } from './tables.ts';

/** Onset and clearing of a problem per foot-year, allowing for what happened unseen between visits. */
export const onsetClearing: Analysis<OnsetOptions> = {
  name: 'onset-clearing',
  title: 'Onset and clearing',
  question: 'How often does a problem begin in a clear foot, and how long does it last?',
  options: optionsSchema,
  async run(asked, context) {
    const { signal, progress } = context;
    // Where nothing is compared, nothing is held alike either.
    const named = asked.by === 'none' ? [] : heldAlike(asked);
    const graded = crudeWhere({ ...asked, by: 'none' });
    const recorded = await recordedInCycles(context, gradedCycles(asked.problem), graded, named);
    const has = (name: string): boolean => recorded.kept.includes(name);
    const options = { ...asked, by: has(asked.by) ? asked.by : 'none', adjust: asked.adjust.filter(has) };
    const rows = gatherPairs(await cycleTable(context, onsetAsk(options)), options);
    const cells = pairCells(rows);
    // At a pause another analysis of the page takes the thread for as long as it likes: only where this one is long itself.
    const pause = pacer(signal, 250);
    progress(0.2, 'Fitting each group');
    await pause();
    const levels = levelRates(rows, cells, options.by);
    const comparisons: OnsetAnswer['comparisons'][number][] = [];
    if (options.by !== 'none') {
      for (const comparison of ['crude', 'adjusted'] as const) {
        progress(comparison === 'crude' ? 0.4 : 0.6, `Comparing groups, ${comparison}`);
        await pause();
        comparisons.push(compareLevels(rows, cells, options.by, comparison));
      }
    }
    return present({ options, levels, comparisons }, recorded);
  },
};

function present(answer: OnsetAnswer, recorded: Recorded): AnalysisResult {
  const ratios = answer.comparisons.flatMap((comparison) =>
    isUnavailable(comparison) ? [] : ratioRows(answer.options, comparison),
  );
  const { horses, feet, cycles } = answer.levels[0]!.seen;
  return {
    analysis: 'onset-clearing',
    tables: [
      onsetEstimates(answer, ratios),
      onsetRates(answer),
      onsetLevels(answer),
      onsetRatios(answer, ratios),
    ],
    // Without a comparison no row is left out of one.
    findings: [...onsetFindings(answer, ratios), ...(answer.options.by === 'none' ? [] : recorded.leftOut)],
    unavailable: [...recorded.notes, ...onsetRefusals(answer)],
    assumes: [
      CASE_DEFINITION,
      'Between two visits a problem may begin, clear and begin again, at rates that stay level. Where risk climbs after a trim, the trim interval page describes it better.',
      'Feet of one group are alike. Where some horses are prone, the prone ones are those found affected, and clearing seems slower than it is.',
      'Visits are not timed by the problem, and grades are right: one missed sighting looks like two changes.',
      'Horses are independent; the feet and cycles of one horse are not, and errors allow for it.',
    ],
    cautions: [CAUTIONS.between_visits, CAUTIONS.own_scale, CAUTIONS.record],
    method: {
      name: 'Two-state continuous-time Markov model seen at visits only, errors clustered by horse',
      source: 'Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871; Jackson 2011, J Stat Softw 38(8)',
      doc: 'docs/methods/onset-and-clearing.md',
    },
    counts: { horses, feet, cycles },
  };
}
