import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import { makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import { funnelLimits } from '../../stats/funnel.ts';
import type { ResultTable } from '../analysis.ts';
import { figure } from '../format.ts';
import { allOf, isLevel } from '../groups.ts';
import {
  behindColumns,
  countColumns,
  estimateColumns,
  SHOWN_COUNTS,
  shareColumn,
  shownEstimate,
} from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import type { ClientAnswer } from './answer.ts';
import { atRiskWhere, clientWhere } from './data.ts';
import type { ClientFigure } from './expected.ts';
import type { Move, Moved } from './move.ts';

export const clientTitle = ({ options }: ClientAnswer, client: string): string =>
  `${client}, trim cycles that began clear of ${problemLabel(options.problem)}`;

/** Clients outside their 95 % limits. */
export const outsideOf = ({ expected }: ClientAnswer): ClientFigure[] =>
  expected.clients.filter(({ verdict }) => verdict !== 'as expected');

/** How many of the clients told would lie outside their 95 % limits by chance alone. */
export const byChance = ({ expected }: ClientAnswer): number => 0.05 * expected.clients.length;

const MEASURE_WORDS: Record<Moved['measure'], string> = {
  visits: 'visits to its horses a year',
  risk: 'chance that a clear foot has it at the next visit',
  affected: 'feet with it at a visit',
  cases: 'new cases seen a year',
};

/** As short as a table wants it. */
const VERDICT_WORDS: Record<ClientFigure['verdict'], string> = {
  'as expected': 'within',
  'more than expected': 'more',
  'far more than expected': 'far more',
  'fewer than expected': 'fewer',
  'far fewer than expected': 'far fewer',
};

const isShare = (measure: Moved['measure']): boolean => measure === 'risk' || measure === 'affected';

const planWords = (weeks: number): string => `every ${figure(weeks, 1)} weeks`;

/** Visits follow from the interval: there is nothing to be unsure of. */
const sureOf = (moved: Moved, { low, high }: Estimate): { low: number | null; high: number | null } =>
  moved.measure === 'visits' ? { low: null, high: null } : { low, high };

function movedRows(move: Move): { moved: Moved; plan: string; at: Estimate }[] {
  return move.moved.flatMap((moved) => [
    { moved, plan: `now, ${planWords(move.nowWeeks)}`, at: moved.now },
    { moved, plan: planWords(move.weeks), at: moved.planned },
    { moved, plan: 'change', at: moved.change },
  ]);
}

export function clientEstimates(answer: ClientAnswer): ResultTable {
  const { options, adjust, expected, move } = answer;
  const plain = { problem: options.problem, stdError: null, low: null, high: null };
  const whole = { ...plain, level: 'all', counts: answer.counts, behind: null, behindTitle: null };
  const rows: TidyRow[] = [
    ...expected.clients.map((c) => ({
      ...plain,
      term: 'new cases, observed over expected',
      level: c.client,
      ...c.ratio,
      unit: 'ratio',
      counts: c.counts,
      behind: atRiskWhere(options.problem, adjust, c.client),
      behindTitle: clientTitle(answer, c.client),
    })),
    ...(expected.clients.length === 0
      ? []
      : [
          {
            ...whole,
            term: 'clients with enough records',
            estimate: expected.clients.length,
            unit: 'clients',
          },
          {
            ...whole,
            term: 'of them outside the 95 % limits',
            estimate: outsideOf(answer).length,
            unit: 'clients',
          },
          { ...whole, term: 'of them outside by chance alone', estimate: byChance(answer), unit: 'clients' },
          {
            ...whole,
            term: 'variance of counts against chance, horses alike',
            estimate: expected.dispersion,
            unit: 'times',
          },
          {
            ...whole,
            term: 'spread between clients (SD)',
            estimate: 2 * expected.between.tau,
            unit: 'ratio',
          },
        ]),
  ];
  if (move && !isUnavailable(move)) {
    for (const { moved, plan, at } of movedRows(move)) {
      rows.push({
        problem: options.problem,
        term: MEASURE_WORDS[moved.measure],
        level: `${move.client}, ${plan}`,
        ...at,
        ...sureOf(moved, at),
        unit: isShare(moved.measure) ? 'share' : moved.measure === 'visits' ? 'visits' : 'cases',
        counts: move.counts,
        behind: ownWhere(answer, move.client),
        behindTitle: `${move.client}, trim cycles`,
      });
    }
  }
  return tidyTable('client-audit', `Clients and ${problemLabel(options.problem)}`, rows, 2);
}

const ownWhere = ({ options, adjust }: ClientAnswer, client: string): string =>
  allOf(clientWhere(options.problem, adjust), isLevel('client_id', client));

/** One row a client, by name. */
export function clientsTable(answer: ClientAnswer): ResultTable {
  const { options, adjust, expected, client } = answer;
  const rows = expected.clients;
  const limit = (name: string, label: string) => ({ name, label, digits: 2 });
  return {
    name: 'clients',
    title: `New cases of ${problemLabel(options.problem)}, observed and expected`,
    relation: 'trim_cycle',
    columns: [
      { name: 'client', label: 'Client' },
      { name: 'observed', label: 'Seen', digits: 0 },
      { name: 'expected', label: 'Expected', digits: 1 },
      ...shownEstimate('Seen over expected', 2),
      { name: 'verdict', label: 'Limits' },
      limit('low_95', '95 % limit from'),
      limit('high_95', 'limit to'),
      { name: 'mean_weeks', label: 'Mean interval', unit: 'weeks', digits: 1 },
      shareColumn('coverage', 'Share of the records'),
      { name: 'unmatched', label: 'Cycles without a like', digits: 0 },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      client: textColumn(rows.map((c) => c.client)),
      observed: numberColumn(rows.map((c) => c.observed)),
      expected: numberColumn(rows.map((c) => c.expected)),
      ...estimateColumns(rows.map((c) => c.ratio)),
      verdict: textColumn(rows.map((c) => VERDICT_WORDS[c.verdict])),
      /** What to write beside a dot: names of those outside, and of the one looked at. */
      name_shown: textColumn(
        rows.map((c) => (c.client === client || c.verdict !== 'as expected' ? c.client : '')),
      ),
      low_95: numberColumn(rows.map((c) => c.limits95.low)),
      high_95: numberColumn(rows.map((c) => c.limits95.high)),
      low_998: numberColumn(rows.map((c) => c.limits998.low)),
      high_998: numberColumn(rows.map((c) => c.limits998.high)),
      mean_weeks: numberColumn(rows.map((c) => c.meanWeeks)),
      coverage: numberColumn(rows.map((c) => c.coverage)),
      reference: textColumn(rows.map((c) => (c.isLeftOut ? 'the other clients' : 'all clients'))),
      unmatched: numberColumn(rows.map((c) => c.unmatched)),
      ...countColumns(rows.map((c) => c.counts)),
      ...behindColumns(
        rows.map((c) => ({
          where: atRiskWhere(options.problem, adjust, c.client),
          title: clientTitle(answer, c.client),
        })),
      ),
    }),
  };
}

/** Clients that are not compared, and why. */
export function smallTable(answer: ClientAnswer): ResultTable {
  const { options, adjust, expected } = answer;
  const rows = expected.small;
  return {
    name: 'small',
    title: 'Too few to tell',
    relation: 'trim_cycle',
    columns: [
      { name: 'client', label: 'Client' },
      { name: 'observed', label: 'New cases seen', digits: 0 },
      { name: 'why', label: 'Why it is not compared' },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      client: textColumn(rows.map((c) => c.client)),
      observed: numberColumn(rows.map((c) => c.observed)),
      why: textColumn(rows.map((c) => c.why)),
      ...countColumns(rows.map((c) => c.counts)),
      ...behindColumns(
        rows.map((c) => ({
          where: atRiskWhere(options.problem, adjust, c.client),
          title: clientTitle(answer, c.client),
        })),
      ),
    }),
  };
}

/** The limits as curves over the expected number, of a client whose count varies as the middle one’s does. */
export function funnelTable(answer: ClientAnswer): ResultTable {
  const { expected, options } = answer;
  const most = expected.clients.reduce((max, c) => Math.max(max, c.expected), 0);
  const least = expected.clients.reduce((min, c) => Math.min(min, c.expected), most);
  const from = Math.max(1, least * 0.8);
  const to = Math.max(from * 2, most * 1.1);
  // Even steps on the log scale: the funnel is steepest where little is expected.
  const grid =
    expected.clients.length === 0 ? [] : Array.from({ length: 60 }, (_, i) => from * (to / from) ** (i / 59));
  const wide = expected.clients.map((c) => c.wide).sort((a, b) => a - b)[expected.clients.length >> 1] ?? 1;
  const at = (within: number) =>
    grid.map((e) => funnelLimits(e, within, options.spread, wide, expected.between));
  const [inner, outer] = [at(0.95), at(0.998)];
  return {
    name: 'funnel',
    title: 'Limits by the number expected',
    relation: 'trim_cycle',
    columns: [
      { name: 'expected', label: 'Expected', digits: 1 },
      { name: 'low_95', label: '95 % from', digits: 2 },
      { name: 'high_95', label: 'to', digits: 2 },
      { name: 'low_998', label: '99.8 % from', digits: 2 },
      { name: 'high_998', label: 'to', digits: 2 },
    ],
    table: makeTable({
      expected: numberColumn(grid),
      low_95: numberColumn(inner.map((l) => l.low)),
      high_95: numberColumn(inner.map((l) => l.high)),
      low_998: numberColumn(outer.map((l) => l.low)),
      high_998: numberColumn(outer.map((l) => l.high)),
    }),
  };
}

/** The interval as it is, another, and the difference; shares in per cent, so that one number of digits suits all. */
export function moveTable(answer: ClientAnswer): ResultTable {
  const { move } = answer;
  const rows = move && !isUnavailable(move) ? movedRows(move) : [];
  const shown = rows.map(({ moved, at }): Estimate => {
    const scale = isShare(moved.measure) ? 100 : 1;
    return { ...at, estimate: at.estimate * scale, low: at.low * scale, high: at.high * scale };
  });
  const of = move && !isUnavailable(move) ? move : null;
  return {
    name: 'move',
    title: of ? `${of.client}: now and ${planWords(of.weeks)}` : 'Another interval',
    relation: 'trim_cycle',
    columns: [
      { name: 'measure', label: 'Figure' },
      { name: 'plan', label: 'Interval' },
      ...shownEstimate('Estimate', 1),
      { name: 'unit', label: 'Unit' },
      ...SHOWN_COUNTS,
    ],
    table: makeTable({
      measure: textColumn(rows.map(({ moved }) => MEASURE_WORDS[moved.measure])),
      plan: textColumn(rows.map(({ plan }) => plan)),
      ...estimateColumns(shown.map((at, i) => ({ ...at, ...sureOf(rows[i]!.moved, at) }))),
      unit: textColumn(
        rows.map(({ moved, plan }) =>
          isShare(moved.measure)
            ? plan === 'change'
              ? 'points'
              : '%'
            : moved.measure === 'visits'
              ? 'visits'
              : 'cases',
        ),
      ),
      ...countColumns(rows.map(() => of!.counts)),
      ...behindColumns(
        rows.map(() => ({ where: ownWhere(answer, of!.client), title: `${of!.client}, trim cycles` })),
      ),
    }),
  };
}
