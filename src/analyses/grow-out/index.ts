import type { CivilDay } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import type { Analysis, AnalysisContext, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import type { Counts } from '../format.ts';
import { recordDay } from '../load-herd.ts';
import { type Calibration, calibrationOf } from './calibration.ts';
import { aheadRefusals, backRefusals, growOutFindings } from './findings.ts';
import { type StandingNow, standingNow } from './gather.ts';
import { type GrowOutOptions, optionsSchema } from './options.ts';
import { pastProjections } from './past.ts';
import { type Renewal, renewals } from './renewal.ts';
import { calibrationTable, growOutEstimates, projectionsTable, renewalTable } from './tables.ts';

/** When growth should bring what stands in the wall down to the ground, and how well such projections held. */
export const growOut: Analysis<GrowOutOptions> = {
  name: 'grow-out',
  title: 'Grow-out',
  question: 'When should what stands in the wall be grown out?',
  options: optionsSchema,
  async run(options, context): Promise<AnalysisResult> {
    const { forward, back } = await looked(options, context);
    const now = forward ?? NOTHING_AHEAD;
    const past = back?.past ?? NOTHING_BACK;
    const renewed = back?.renewed ?? { found: [], refused: [] };
    return {
      analysis: 'grow-out',
      tables: [
        growOutEstimates(now, past, renewed.found),
        projectionsTable(now),
        calibrationTable(past),
        renewalTable(renewed.found),
      ],
      findings: growOutFindings(now, past, renewed.found, options.later_visit),
      unavailable: [
        ...(forward ? aheadRefusals(forward) : []),
        ...(back ? backRefusals(back.past) : []),
        ...renewed.refused,
      ],
      assumes: ASSUMES,
      cautions: [CAUTIONS.foot_first, CAUTIONS.call_vet, CAUTIONS.between_visits, CAUTIONS.small_numbers],
      method: {
        name: 'Distance over growth: the time at which the predicted growth and its band reach the height; calibration of past projections, horses as clusters',
        source:
          'Osborne 1991, Int Stat Rev 59:309–336; Robinson 1991, Stat Sci 6:15–32; Fieller 1954, J R Stat Soc B 16:175–185; Korn & Graubard 1998, Surv Methodol 24:193–201',
        doc: 'docs/methods/grow-out.md',
      },
      counts: now.growth && !isUnavailable(now.growth) ? now.growth.counts : countsOf(renewed.found),
    };
  },
};

async function looked(options: GrowOutOptions, context: AnalysisContext) {
  const day = await recordDay(context.engine, context.today);
  context.progress(0.1, 'Projecting growth');
  const forward = options.look === 'back' ? null : await standingNow(context, day, options);
  if (options.look === 'ahead') return { forward, back: null };
  const past = calibrationOf(await pastProjections(context, options));
  context.progress(0.9, 'Renewal of the toe');
  return { forward, back: { past, renewed: await renewals(context) } };
}

const NOTHING_BACK: Calibration = { overall: [], bands: [] };
const NOTHING_AHEAD: StandingNow = {
  day: 0 as CivilDay,
  growth: null,
  projections: [],
  unmeasured: [],
  untold: [],
  otherCracks: { where: 'FALSE', feet: 0, horses: 0 },
};

/** Every trim cycle behind the renewals: each has one breed type. */
function countsOf(renewed: readonly Renewal[]): Counts {
  const byNet = renewed.filter(({ basis }) => basis === 'net growth alone');
  const sum = (of: (counts: Counts) => number) => byNet.reduce((total, { counts }) => total + of(counts), 0);
  return { horses: sum((c) => c.horses), feet: sum((c) => c.feet), cycles: sum((c) => c.cycles) };
}

const ASSUMES = [
  'A separation’s height is from the ground edge, as the trim left it, to its upper end; one read before the trim grows out sooner than said. A crack or an injury at the coronet has the whole toe to come down.',
  'Trims and wear take away at the ground what grows: the toe keeps its length, and the wall moves down at gross growth, which is the foot’s net growth and what its ground wears off. Feet on one ground wear alike.',
  'Nothing new separates above, and nothing is cut or broken out: growth alone. What widens upwards takes longer.',
  'The ground ahead is that of the latest visit; that feet change ground widens the range. A range holds the true day with 95 % chance if all this is so.',
  'Past projections use only cycles ended before their calendar year. One that cleared and came back between two visits counts as not clear; one that was cut away counts as clear.',
];
