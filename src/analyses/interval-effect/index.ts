import { letGo } from '../../core/let-go.ts';
import type { Analysis, AnalysisResult, AskContext } from '../analysis.ts';
import { made } from '../apart.ts';
import { CAUTIONS } from '../cautions.ts';
import { clearCycles } from '../graded-cycles.ts';
import { pacer } from '../pacing.ts';
import { type Recorded, recordedInCycles } from '../recorded.ts';
import { type AlikeCycles, alikeCycles } from './alike.ts';
import { curveTimes, type IntervalAnswer } from './answer.ts';
import { type BandShare, shareByBand } from './bands.ts';
import { atRiskWhere, type IntervalRows, intervalRows } from './data.ts';
import { intervalFindings, intervalRefusals } from './findings.ts';
import { fitComparisons } from './fits.ts';
import { type IntervalOptions, optionsSchema } from './options.ts';
import { intervalBands, intervalEstimates, intervalExponents, intervalRisk } from './tables.ts';

/**
 * Of feet clear after a trim, the risk that the problem is there at the next visit, by the days between: crude,
 * adjusted, and each horse against its own usual interval.
 */
export const intervalEffect: Analysis<IntervalOptions> = {
  name: 'interval-effect',
  title: 'Trim interval',
  question: 'Does a longer interval go with more problems at the next visit?',
  options: optionsSchema,
  async run(asked, context) {
    const { signal, progress } = context;
    const recorded = await recordedInCycles(
      context,
      clearCycles(asked.problem),
      atRiskWhere(asked.problem, []),
      asked.adjust,
    );
    const options = { ...asked, adjust: [...recorded.kept] };
    const where = atRiskWhere(options.problem, options.adjust);
    const { rows, alike, bands } = await gathered(options, where, context);
    const times = curveTimes(options.weeks);
    const pause = pacer(signal, 0);
    // Where there is no other thread, the cells of one comparison need not stand beside those of the one before.
    const lettingGo = (): Promise<void> => {
      letGo();
      return pause();
    };
    const apart = context.apart ?? made(lettingGo);
    progress(0.2, 'Fitting');
    await pause();
    const fitting = fitComparisons(alike, times, apart, context.apart !== undefined);
    fitting.catch(() => undefined);
    // Counted while other threads fit.
    const shares = bands();
    return present({ options, rows, fits: await fitting, times, where, bands: shares }, recorded);
  },
};

interface Gathered {
  readonly rows: IntervalAnswer['rows'];
  readonly alike: AlikeCycles;
  bands(): readonly BandShare[];
}

/** By itself, so that where there is no other thread, and bands are counted at once, the rows do not stand beside their fits. */
async function gathered(options: IntervalOptions, where: string, context: AskContext): Promise<Gathered> {
  const rows = await intervalRows(context, options);
  const { atRisk } = rows;
  const bands = context.apart ? later(rows, where) : known(shareByBand(rows, where));
  return { rows: { atRisk }, alike: alikeCycles(rows), bands };
}

const later = (rows: IntervalRows, where: string) => (): BandShare[] => shareByBand(rows, where);
const known = (bands: readonly BandShare[]) => (): readonly BandShare[] => bands;

function present(answer: IntervalAnswer, recorded: Recorded): AnalysisResult {
  return {
    analysis: 'interval-effect',
    tables: [
      intervalEstimates(answer),
      intervalExponents(answer),
      intervalRisk(answer),
      intervalBands(answer),
    ],
    findings: [...intervalFindings(answer), ...recorded.leftOut],
    unavailable: [...recorded.notes, ...intervalRefusals(answer)],
    assumes: [
      'The risk of onset starts afresh at each trim and grows with a power of the days since; a problem may begin, clear and begin again between two visits.',
      'Clearing goes at one rate for all feet.',
      'Visits are not brought forward because a foot is doing badly.',
      'What is not recorded (who rides, feed, care between trims) may still differ between long and short intervals.',
      'Horses are independent; the feet and cycles of one horse are not, and errors allow for it.',
    ],
    cautions: [
      CAUTIONS.intervals_not_by_lot,
      CAUTIONS.between_visits,
      CAUTIONS.foot_first,
      CAUTIONS.own_scale,
    ],
    method: {
      name: 'Two-state model with the onset clock set to zero at each trim, errors clustered by horse; complementary log-log regression as a check',
      source:
        'Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871; Neuhaus & Kalbfleisch 1998, Biometrics 54:638–645',
      doc: 'docs/methods/interval-effect.md',
    },
    counts: answer.rows.atRisk,
  };
}
