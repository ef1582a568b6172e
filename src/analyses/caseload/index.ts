import { type Unavailable, unavailable } from '../../core/outcome.ts';
import { CASE_DEFINITION } from '../../herd/problems.ts';
import { ahead } from '../ahead.ts';
import type { Analysis, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { recordDay } from '../load-herd.ts';
import { attentionOf, byUrgency } from './attention.ts';
import { type Change, changesOf } from './changes.ts';
import { caseloadFindings } from './findings.ts';
import { type Gap, gapsOf } from './gaps.ts';
import { type CaseloadOptions, optionsSchema } from './options.ts';
import { type Round, roundOf } from './round.ts';
import { standingByHorse } from './standing.ts';
import {
  attentionTable,
  caseloadEstimates,
  changesTable,
  gapsTable,
  type Listed,
  reasonsTable,
} from './tables.ts';

/** What needs attention now, what changed since the last season, what the records lack. */
export const caseload: Analysis<CaseloadOptions> = {
  name: 'caseload',
  title: 'Caseload',
  question: 'What needs attention this week, and what changed since the last season?',
  options: optionsSchema,
  async run(options, context) {
    const day = await recordDay(context.engine, context.today);
    context.progress(0.1, 'Looking at what stands');
    const asked = {
      round: ahead(context, () => roundOf(options, day, context)),
      standing: ahead(context, () => standingByHorse(context)),
      changes: ahead(context, () => changesOf(context)),
      gaps: ahead(context, () => gapsOf(context)),
    };
    const standing = await asked.standing();
    const round = await asked.round();
    const listed = round.horses
      .flatMap((of): Listed[] => {
        const { id } = of.horse;
        const attention = attentionOf(id, standing.get(id) ?? [], of.due, options.within_days);
        return attention ? [{ ...attention, of }] : [];
      })
      .sort(byUrgency);
    context.progress(0.8, 'Comparing seasons');
    const { changes, refused } = await asked.changes();
    const gaps = await asked.gaps();
    return present({ round, listed, changes, gaps, refused, day, options });
  },
};

interface Answer {
  readonly round: Round;
  readonly listed: readonly Listed[];
  readonly changes: readonly Change[];
  readonly gaps: readonly Gap[];
  readonly refused: readonly Unavailable[];
  readonly day: number;
  readonly options: CaseloadOptions;
}

function present({ round, listed, changes, gaps, refused, day, options }: Answer): AnalysisResult {
  const { horses } = round;
  return {
    analysis: 'caseload',
    tables: [
      caseloadEstimates(changes, round),
      attentionTable(listed, day),
      reasonsTable(listed, options),
      changesTable(changes),
      gapsTable(gaps),
    ],
    findings: caseloadFindings(round, listed, changes, gaps, options),
    unavailable: [...nothingToList(round, listed), ...refused],
    assumes: [
      'A horse unseen for over half a year is no longer on the round.',
      options.due === 'plan'
        ? 'A horse is due by the interval plan under its starting limits; the page of the plan has them, to be set to one’s own.'
        : 'A horse is due at the middle one of its own intervals.',
      'Horses with most kinds of reason stand first, then the highest grade, then the longest past the date.',
      'A season begins on the first of March, June, September or December; the latest one is not over. The season before differs by the time of year as well, the same season a year earlier does not.',
      CASE_DEFINITION,
    ],
    cautions: [CAUTIONS.foot_first, CAUTIONS.call_vet, CAUTIONS.own_scale],
    method: {
      name: 'Latest visits listed by rule; shares by season with Wilson intervals on the effective sample size, differences linearised within horses',
      source: 'Korn & Graubard 1998, Surv Methodol 24:193–201; Binder 1983, Int Stat Rev 51:279–292',
      doc: 'docs/methods/caseload.md',
    },
    counts: {
      horses: horses.length,
      feet: horses.reduce((sum, { horse }) => sum + horse.feet.length, 0),
      cycles: horses.reduce((sum, { horse }) => sum + horse.nCycles, 0),
    },
  };
}

function nothingToList({ horses }: Round, listed: readonly Listed[]): Unavailable[] {
  if (listed.length > 0) return [];
  return [
    unavailable(
      'no-rows',
      horses.length === 0
        ? 'no horse in view was seen within half a year, so there is no round to look at.'
        : 'no horse on the round is due, and nothing that stands asks for attention.',
    ),
  ];
}
