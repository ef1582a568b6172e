import type { CivilDay } from '../../core/civil-day.ts';
import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { ahead } from '../ahead.ts';
import type { Analysis, AnalysisContext, AnalysisResult, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { recordDay } from '../load-herd.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { type HorseRecord, horseRecord } from './data.ts';
import { horseFindings } from './findings.ts';
import { type GrowingOutFoot, growOutTable, horseGrowOut } from './grow-out.ts';
import { type HorseGrowth, horseGrowth } from './growth.ts';
import { type OneHorseOptions, optionsSchema } from './options.ts';
import { type SideDifference, sideDifferences } from './sides.ts';
import {
  asymmetryTable,
  deedsTable,
  growthRows,
  growthTable,
  RATE_TIMES,
  RATE_UNIT,
  rateName,
  rateTitle,
  readingsTable,
  spanTable,
  stripTables,
  toeTable,
} from './tables.ts';

/** Everything recorded of one horse, foot by foot, and its growth beside horses like it. */
export const oneHorse: Analysis<OneHorseOptions> = {
  name: 'one-horse',
  title: 'One horse',
  question: 'What do the records hold of one horse?',
  options: optionsSchema,
  async run(options, context) {
    context.progress(0.1, 'Reading its visits');
    const horse = await horseRecord(options, context);
    if (!horse) return noHorse(options);
    // What was recorded can be looked at while the herd's growth, which it is held against, is worked out.
    context.draft?.({ tables: recorded(horse), withoutBands: [] });
    context.progress(0.4, 'Working out its growth');
    const day = await recordDay(context.engine, context.today);
    const growingOut = ahead(context, () => horseGrowOut(horse, day, context));
    const growth = await horseGrowth(horse, day, context);
    context.progress(0.7, 'Looking ahead');
    return present(horse, growth, await growingOut(), day, context);
  },
};

function present(
  horse: HorseRecord,
  found: HorseGrowth | Unavailable,
  out: readonly GrowingOutFoot[],
  day: CivilDay,
  { lengths }: AnalysisContext,
): AnalysisResult {
  const growth = isUnavailable(found) ? null : found;
  const sides = sideDifferences(horse, growth);
  const unavailable: Unavailable[] = [];
  if (isUnavailable(found)) {
    unavailable.push({ ...found, sentence: `growth cannot be worked out here: ${found.sentence}` });
  }
  if (growth?.horse && isUnavailable(growth.pairs)) unavailable.push(growth.pairs);
  const counts = growth?.horse?.counts ?? {
    horses: 1,
    feet: new Set(horse.rows.map(({ footKey }) => footKey)).size,
    cycles: 0,
  };
  return {
    ...FRAME,
    tables: [estimates(horse, growth, sides), ...tables(horse, growth, sides, out)],
    findings: horseFindings({ horse, growth, sides, ahead: out, day }, lengths),
    unavailable,
    counts,
  };
}

const recorded = (horse: HorseRecord): ResultTable[] => [
  toeTable(horse),
  readingsTable(horse, 'angles'),
  readingsTable(horse, 'heel_sole'),
  ...stripTables(horse),
  spanTable(horse),
  deedsTable(horse),
];

const tables = (
  horse: HorseRecord,
  growth: HorseGrowth | null,
  sides: readonly SideDifference[],
  out: readonly GrowingOutFoot[],
): ResultTable[] => [
  ...recorded(horse),
  growthTable(horse, growth),
  asymmetryTable(horse, sides),
  growOutTable(horse, out),
];

function estimates(
  horse: HorseRecord,
  growth: HorseGrowth | null,
  sides: readonly SideDifference[],
): ResultTable {
  const rates = growthRows(growth).map(
    (row): TidyRow => ({
      problem: null,
      term: row.when === RATE_TIMES.year ? 'toe growth' : `toe growth ${row.when}`,
      level: rateName(row),
      ...row.estimate,
      unit: RATE_UNIT,
      counts: row.counts,
      behind: row.where,
      behindTitle: rateTitle(horse, growth!, row),
    }),
  );
  const differences = sides.map(
    ({ pair, faster, slower, difference, counts, where, title }): TidyRow => ({
      problem: null,
      term: 'faster foot of a pair',
      level: `${pair} feet: ${faster} less ${slower}`,
      ...difference,
      unit: RATE_UNIT,
      counts,
      behind: where,
      behindTitle: title,
    }),
  );
  return tidyTable('one-horse', `Toe growth of ${horse.name ?? horse.id}`, [...rates, ...differences]);
}

const FRAME = {
  analysis: 'one-horse',
  assumes: [
    'Nothing is drawn between two visits but the straight line from one reading to the next.',
    'A strip changes half way between two visits that saw it differently: the day itself is not known.',
    'The horse’s own growth is drawn towards horses of its breed type on the same ground, the more so the fewer its trim cycles.',
    'A foot left bare, and separated wall left alone, is not marked as something done.',
  ],
  cautions: [CAUTIONS.record, CAUTIONS.small_numbers, CAUTIONS.foot_first],
  method: {
    name: 'Readings as recorded; growth from a mixed model of the herd, each horse and foot drawn towards its group (REML)',
    source: 'Patterson & Thompson 1971, Biometrika 58:545–554; Robinson 1991, Stat Sci 6:15–32',
    doc: 'docs/methods/one-horse.md',
  },
} as const;

function noHorse({ horse }: OneHorseOptions): AnalysisResult {
  const sentence =
    horse === ''
      ? 'no horse is in view, so there is nothing to show of one.'
      : `no horse in view has the id ${horse}: choose another, or widen the cohort.`;
  const nobody: HorseRecord = {
    id: horse,
    name: null,
    client: null,
    breedType: null,
    rows: [],
    visits: 0,
    firstDay: 0,
    lastDay: 0,
    from: 0,
  };
  return {
    ...FRAME,
    tables: [estimates(nobody, null, []), ...tables(nobody, null, [], [])],
    findings: [],
    unavailable: [unavailable('no-rows', sentence)],
    counts: { horses: 0, feet: 0, cycles: 0 },
  };
}
