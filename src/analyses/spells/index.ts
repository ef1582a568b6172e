import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { CASE_DEFINITION, type ProblemKey, problemLabel } from '../../herd/problems.ts';
import type { Analysis, AnalysisResult, Finding, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { counted, figure, horsesText, interval95, range } from '../format.ts';
import { allOf } from '../groups.ts';
import { pacer } from '../pacing.ts';
import { behindColumns, countColumns, estimateColumns, shownEstimate } from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { type Lengths, lengthsOf } from './lengths.ts';
import { optionsSchema, type SpellsOptions } from './options.ts';
import { begunWhere, lengthOf, type Runs, runsOf, type State } from './runs.ts';

/** Each foot's runs with and without a problem, every boundary an interval between two visits. */
export const spells: Analysis<SpellsOptions> = {
  name: 'spells',
  title: 'Spells',
  question: 'When did each spell of a problem begin and end, as far as visits show?',
  options: optionsSchema,
  async run(options, context) {
    const runs = await runsOf(context, options);
    const sharing = { apart: context.apart, pause: pacer(context.signal) };
    return present(runs, await lengthsOf(runs, options, sharing), options);
  },
};

function present(runs: Runs, lengths: readonly Lengths[], { problem }: SpellsOptions): AnalysisResult {
  const [withIt] = lengths;
  return {
    analysis: 'spells',
    tables: [estimates(lengths, problem), summary(lengths, problem), runsTable(runs, problem)],
    findings: findings(withIt!, problem),
    unavailable: refusals(runs, lengths, problem),
    assumes: [
      CASE_DEFINITION,
      'A spell begins after the last visit without it and by the first with it, and ends alike; a visit at which it was not graded is passed over.',
      'A spell that began and cleared between two visits was never seen; two spells that met between visits look like one. Lengths are those of spells as seen.',
      'Spells met under way at a foot’s first visit are listed, not counted in the middle length: long ones are likelier to be met so.',
      'A spell’s length is known only to lie between its shortest and its longest reading; where in its interval it began is taken to have no bearing on its length. Horses are independent, and whole horses are resampled.',
    ],
    cautions: [CAUTIONS.between_visits, CAUTIONS.own_scale],
    method: {
      name: 'Runs of visits with interval bounds; nonparametric maximum likelihood for the middle length',
      source: 'Turnbull 1976, J R Stat Soc B 38:290–295; De Gruttola & Lagakos 1989, Biometrics 45:1–11',
      doc: 'docs/methods/spells.md',
    },
    counts: withIt!.counts,
  };
}

const lengthTerm = (state: State): string => `middle length of a ${state} spell, as seen at visits`;
const begunTitle = (problem: ProblemKey, state: State): string =>
  `${state} spells of ${problemLabel(problem)} begun between two visits`;

function estimates(lengths: readonly Lengths[], problem: ProblemKey): ResultTable {
  const rows = lengths.flatMap((of): TidyRow[] => {
    const { median, state } = of;
    if (isUnavailable(median)) return [];
    return [
      {
        problem,
        term: lengthTerm(state),
        level: 'all',
        estimate: (median.estimate.low + median.estimate.high) / 2,
        stdError: null,
        low: median.low,
        high: finite(median.high),
        unit: 'd',
        counts: of.counts,
        spells: of.nBegun,
        behind: begunWhere(problem, state),
        behindTitle: begunTitle(problem, state),
      },
    ];
  });
  return { ...tidyTable('spells', `Spells of ${problemLabel(problem)}`, rows, 1), relation: 'spell' };
}

const finite = (value: number): number | null => (Number.isFinite(value) ? value : null);

/** How many runs there are of each kind, and how long they last. */
function summary(lengths: readonly Lengths[], problem: ProblemKey): ResultTable {
  const middle = lengths.map(({ median }) =>
    isUnavailable(median)
      ? { low: null, high: null, estimate: null, from: null, to: null }
      : {
          from: median.estimate.low,
          to: median.estimate.high,
          estimate: (median.estimate.low + median.estimate.high) / 2,
          low: median.low,
          high: finite(median.high),
        },
  );
  return {
    name: 'summary',
    title: `Spells with and without ${problemLabel(problem)}`,
    relation: 'spell',
    columns: [
      { name: 'state', label: 'Spells' },
      { name: 'n_runs', label: 'Seen', digits: 0 },
      { name: 'under_way', label: 'Met under way', digits: 0 },
      { name: 'ongoing', label: 'Still so at the last visit', digits: 0 },
      { name: 'bounded', label: 'Begun and ended between visits', digits: 0 },
      { name: 'middle_from', label: 'Middle length, from', unit: 'd', digits: 0 },
      { name: 'middle_to', label: 'to', unit: 'd', digits: 0 },
      ...shownEstimate('Middle of those', 1, 'd'),
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_spells', label: 'Spells counted', digits: 0 },
    ],
    table: makeTable({
      state: textColumn(lengths.map(({ state }) => state)),
      n_runs: numberColumn(lengths.map(({ nRuns }) => nRuns)),
      under_way: numberColumn(lengths.map(({ underWay }) => underWay)),
      ongoing: numberColumn(lengths.map(({ ongoing }) => ongoing)),
      bounded: numberColumn(lengths.map(({ bounded }) => bounded)),
      middle_from: numberColumn(middle.map(({ from }) => from)),
      middle_to: numberColumn(middle.map(({ to }) => to)),
      ...estimateColumns(middle),
      ...countColumns(lengths.map(({ counts }) => counts)),
      n_spells: numberColumn(lengths.map(({ nBegun }) => nBegun)),
      ...behindColumns(
        lengths.map(({ state }) => ({
          where: begunWhere(problem, state),
          title: begunTitle(problem, state),
        })),
      ),
    }),
  };
}

/** Every run of every foot with its two boundaries as intervals. */
function runsTable(runs: Runs, problem: ProblemKey): ResultTable {
  const lengths = Array.from(runs.first.keys(), (row) => lengthOf(runs, row));
  return {
    name: 'runs',
    title: `Every spell with and without ${problemLabel(problem)}`,
    relation: 'spell',
    columns: [
      { name: 'horse_id', label: 'Horse' },
      { name: 'horse_name', label: 'Name' },
      { name: 'foot', label: 'Foot' },
      { name: 'state', label: 'State' },
      { name: 'began_after', label: 'Began after' },
      { name: 'began_by', label: 'Began by' },
      { name: 'ended_after', label: 'Ended after' },
      { name: 'ended_by', label: 'Ended by' },
      { name: 'least_days', label: 'At least', unit: 'd', digits: 0 },
      { name: 'most_days', label: 'At most', unit: 'd', digits: 0 },
      { name: 'visits', label: 'Visits', digits: 0 },
    ],
    table: makeTable({
      horse_id: textColumn(runs.horseIds),
      horse_name: textColumn(runs.horseNames),
      foot: textColumn(runs.feet),
      state: textColumn(Array.from(runs.isPresent, (is) => (is ? 'present' : 'clear'))),
      began_after: dayColumn(runs.after),
      began_by: dayColumn(runs.first),
      ended_after: dayColumn(runs.last),
      ended_by: dayColumn(runs.next),
      least_days: numberColumn(lengths.map(({ least }) => least)),
      most_days: numberColumn(lengths.map(({ most }) => most)),
      visits: numberColumn(runs.visits),
      n_spells: numberColumn(lengths.map(() => 1)),
      ...behindColumns(
        lengths.map((_, row) => ({
          where: allOf(
            `problem = ${literal(problem)}`,
            `foot_key = ${literal(runs.footKeys[row]!)}`,
            `spell_number = ${runs.number[row]}`,
          ),
          title: `one spell of ${runs.horseNames[row] ?? runs.horseIds[row]}, ${runs.feet[row]}`,
        })),
      ),
    }),
  };
}

function findings(
  { median, nRuns, underWay, ongoing, counts, nBegun }: Lengths,
  problem: ProblemKey,
): Finding[] {
  if (isUnavailable(median)) return [];
  const { low, high } = median.estimate;
  // Whole days are as fine as visits go.
  const middle = high - low <= 1 ? `${figure(high)} days` : `somewhere from ${range(low, high)} days`;
  const sure = Number.isFinite(median.high)
    ? interval95(median.low, median.high)
    : `95 % ${figure(median.low)} or more`;
  return [
    {
      sentence: `Half of the spells of ${problemLabel(problem)} that began between two visits had cleared within ${middle} (${sure}), as seen at visits. From ${counted(nBegun, 'spell', 'spells')} of ${horsesText(counts.horses)}; of all ${counted(nRuns, 'spell', 'spells')}, ${figure(underWay)} ${underWay === 1 ? 'was' : 'were'} met under way and ${figure(ongoing)} ${ongoing === 1 ? 'was' : 'were'} still there at the last visit.`,
      caution: CAUTIONS.between_visits,
      behind: {
        relation: 'spell',
        where: begunWhere(problem, 'present'),
        title: begunTitle(problem, 'present'),
      },
    },
  ];
}

function refusals(runs: Runs, lengths: readonly Lengths[], problem: ProblemKey): Unavailable[] {
  const label = problemLabel(problem);
  if (runs.first.length === 0) return [unavailable('no-rows', `${label} was not graded at any visit here.`)];
  return lengths.flatMap(({ state, nRuns, nBegun, median }) => {
    if (!isUnavailable(median)) return [];
    const why =
      nRuns === 0
        ? `no foot was seen ${state === 'present' ? `with ${label}` : `clear of ${label}`}`
        : nBegun === 0
          ? 'none was seen to begin'
          : median.sentence.charAt(0).toLowerCase() + median.sentence.slice(1);
    return [
      unavailable(median.unavailable, `the length of a ${state} spell of ${label} cannot be told: ${why}`),
    ];
  });
}
