import { type Unavailable, unavailable } from '../../core/outcome.ts';
import { CASE_DEFINITION } from '../../herd/problems.ts';
import type { Analysis, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import type { Counts } from '../format.ts';
import { type Recorded, recordedGroupings } from '../recorded.ts';
import { contrastsTable, type ShareContrastRow, shareContrasts } from './contrasts.ts';
import { prevalenceFindings } from './findings.ts';
import { optionsSchema, type PrevalenceOptions } from './options.ts';
import { countsOfLevels, gradedWhere, levelRows, type Share, sharesOf } from './shares.ts';
import { prevalenceEstimates, sharesTable } from './tables.ts';

/** Share of feet affected, on the effective number of independent feet. */
export const prevalence: Analysis<PrevalenceOptions> = {
  name: 'prevalence',
  title: 'Share of feet affected',
  question: 'What share of feet has each problem?',
  options: optionsSchema,
  async run(asked, context) {
    const { by } = asked;
    // Every visit has a day, and so a season.
    const named = by === 'none' || by === 'quarter' ? [] : [by];
    const recorded = await recordedGroupings(context, 'foot_visit', gradedWhere(asked), named);
    const options: PrevalenceOptions = {
      ...asked,
      by: by === 'quarter' || recorded.kept.includes(by) ? by : 'none',
    };
    const shares: Share[] = [];
    const contrasts: ShareContrastRow[] = [];
    const refused: Unavailable[] = [];
    for (const problem of options.problems) {
      const rows = await levelRows(problem, options, context);
      const found = sharesOf(rows, problem, options);
      const compared = shareContrasts(rows, problem, options);
      shares.push(...found.shares);
      contrasts.push(...compared.contrasts);
      refused.push(...found.refused, ...compared.refused);
    }
    if (options.by === 'quarter' && shares.length > 0 && contrasts.length === 0) {
      refused.push(
        unavailable(
          'no-overlap',
          'No season is on record twice, so this year cannot be set against the last.',
        ),
      );
    }
    return present(shares, contrasts, refused, options, recorded);
  },
};

function present(
  shares: readonly Share[],
  contrasts: readonly ShareContrastRow[],
  refused: Unavailable[],
  options: PrevalenceOptions,
  recorded: Recorded,
): AnalysisResult {
  return {
    analysis: 'prevalence',
    tables: [
      prevalenceEstimates(shares, contrasts, options),
      sharesTable(shares, options),
      contrastsTable(contrasts),
    ],
    findings: [...prevalenceFindings(shares, contrasts, options), ...recorded.leftOut],
    unavailable: [...recorded.notes, ...refused],
    assumes: [
      CASE_DEFINITION,
      'Feet of one horse are alike: intervals rest on the number of independent feet that would say as much.',
      'Where a horse is in both groups compared, it is compared with itself.',
      'A foot not graded is left out, not taken as clear.',
    ],
    cautions: [CAUTIONS.own_scale],
    method: {
      name: 'Share with a Wilson interval on the effective sample size, horses as clusters; differences linearised within horses',
      source:
        'Korn & Graubard 1998, Surv Methodol 24:193–201; Wilson 1927, J Am Stat Assoc 22:209–212; Binder 1983, Int Stat Rev 51:279–292',
      doc: 'docs/methods/shares.md',
    },
    counts: mostCounted(shares, options),
  };
}

/** Rows behind the problem graded most often, of all its levels. */
function mostCounted(shares: readonly Share[], { problems }: PrevalenceOptions): Counts {
  return problems
    .map((problem) => countsOfLevels(shares.filter((share) => share.problem === problem)))
    .reduce((a, b) => (b.cycles > a.cycles ? b : a));
}
