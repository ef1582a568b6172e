import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import type { Analysis, AnalysisContext, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { comparableLevels } from '../few-horses.ts';
import { code, requireGroupings } from '../groups.ts';
import { pacer } from '../pacing.ts';
import { MANY_SPELLS, withEveryBand, withoutBands } from '../shared-bands.ts';
import {
  type ClearSpells,
  type GroupBegun,
  type GroupReturn,
  optionsSchema,
  type RecurrenceOptions,
  type ReturnPairs,
  type ReturnRatios,
} from './answer.ts';
import {
  byLevel,
  headline,
  levelOf,
  refusal,
  steadyFinding,
  steadyRefusal,
  visitDateFinding,
} from './findings.ts';
import { beginGroup, returnRatios, steadyRates } from './fits.ts';
import { clearSpells, returnPairs } from './gather.ts';
import { ratioFinding, ratioRefusals, ratioRows, ratiosTable } from './ratios.ts';
import { recurrenceCompare, recurrenceCurve, recurrenceEstimates } from './tables.ts';

/** How soon a problem is seen again once a foot is clear: between visits, not at them. */
export const recurrence: Analysis<RecurrenceOptions> = {
  name: 'recurrence',
  title: 'Return of a problem',
  question: 'Once a foot is clear, how soon is the problem seen again?',
  options: optionsSchema,
  async run(options, context) {
    if (options.by !== 'none') await requireGroupings(context.engine, 'spell', [options.by]);
    const rows = await clearSpells(context, options);
    const pairs = await returnPairs(context, options);
    const begun = await everyGroup(rows, pairs, options, context);
    const ratios = options.by === 'none' ? null : returnRatios(rows, options.by);
    if (rows.left.length >= MANY_SPELLS) {
      const { tables, counts } = present(begun.map(withoutBands), ratios, options);
      context.draft?.({ tables, withoutBands: ['estimates', 'curve', 'compare'], counts });
    }
    const { apart, signal, progress } = context;
    const told = (fraction: number): void => progress((1 + fraction) / 2, 'Resampling horses');
    const groups = await withEveryBand(begun, { apart, pause: pacer(signal), told });
    return present(groups, ratios, options);
  },
};

async function everyGroup(
  rows: ClearSpells,
  pairs: ReturnPairs,
  options: RecurrenceOptions,
  { signal, progress }: AnalysisContext,
): Promise<GroupBegun[]> {
  const levels = options.by === 'none' ? [] : code(rows.level).levels;
  const names: (string | null)[] = [null, ...levels];
  const pause = pacer(signal);
  const rates = steadyRates(pairs, options.by);
  await pause();
  const groups: GroupBegun[] = [];
  for (const name of names) {
    progress(groups.length / names.length / 2, `Estimating: ${name ?? 'all'}`);
    groups.push(beginGroup(rows, rates, name, options));
    await pause();
  }
  return groups;
}

function present(
  groups: readonly GroupReturn[],
  ratios: Outcome<ReturnRatios> | null,
  options: RecurrenceOptions,
): AnalysisResult {
  const { problem, by, horizons } = options;
  const all = groups[0]!;
  const compared = ratios === null || isUnavailable(ratios) ? [] : ratioRows(ratios, options);
  return {
    analysis: 'recurrence',
    tables: [
      recurrenceEstimates(groups, compared, options),
      recurrenceCurve(groups, problem),
      recurrenceCompare(all, problem),
      ratiosTable(compared, options),
    ],
    findings: [
      ...headline(all, problem, horizons),
      ...steadyFinding(all, problem, horizons),
      ...(by === 'none' ? [] : byLevel(groups.slice(1), problem, by, horizons)),
      ...ratioFinding(compared, options, comparableLevels(groups.slice(1).map(levelOf))),
      ...visitDateFinding(all, problem, horizons),
    ],
    unavailable: [
      ...groups.flatMap((group) => refusal(group, options)),
      ...(isUnavailable(all.bands) ? [] : steadyRefusal(all, problem)),
      // Where the herd itself shows no return, its levels cannot be compared: said once.
      ...(ratios === null || isUnavailable(all.bands) ? [] : ratioRefusals(ratios, options)),
    ],
    assumes: [
      'A clear spell begins at the first visit seen clear after one with the problem; its return lies after the last clear visit and by the first visit with the problem again.',
      'Visits are not timed by how the foot fares between them.',
      'A return that cleared again before the next visit was never seen and is not in the curve: that is return seen at visits. The two-state figures allow for it, at the price of taking the rate of return as steady.',
      'Horses are independent; the feet of one horse are not, so whole horses are resampled and errors are clustered by horse.',
      'Rates of return of two groups are taken to be in one proportion throughout.',
    ],
    cautions: [CAUTIONS.between_visits, CAUTIONS.own_scale, CAUTIONS.record],
    method: {
      name: 'Nonparametric maximum likelihood for interval-censored times, bands by resampling horses; interval-censored Weibull regression for ratios; two-state Markov model for unseen returns',
      source:
        'Turnbull 1976, J R Stat Soc B 38:290–295; Gentleman & Geyer 1994, Biometrika 81:618–623; Lindsey & Ryan 1998, Stat Med 17:219–238; Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871',
      doc: 'docs/methods/recurrence.md',
    },
    counts: { horses: all.nHorses, feet: all.nFeet, cycles: all.nLooks },
  };
}
