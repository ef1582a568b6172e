import { longDate } from '../../core/civil-day.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import { allOf, isLevel, isOneOf } from '../groups.ts';
import { behindColumns, estimateColumns, shareColumn, shownEstimate } from '../result-parts.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { type Attention, type Due, KINDS, type Kind } from './attention.ts';
import { AGAINST, type Change } from './changes.ts';
import type { Gap } from './gaps.ts';
import type { CaseloadOptions } from './options.ts';
import type { Round, RoundHorse } from './round.ts';

/** A horse on the list, with what is known of it. */
export interface Listed extends Attention {
  readonly of: RoundHorse;
}

const dateSql = (day: number): string => `DATE '1970-01-01' + ${day}`;

/** `3 December 2026` */
const dueWords = (due: Due | null): string => (due ? longDate(due.day) : 'not known');

/** As many as can be taken in at a look. */
const MOST_REASONS = 2;
const inShort = (reasons: readonly string[]): string =>
  reasons.length <= MOST_REASONS + 1
    ? reasons.join('; ')
    : `${reasons.slice(0, MOST_REASONS).join('; ')}; and ${reasons.length - MOST_REASONS} more`;

export function attentionTable(listed: readonly Listed[], day: number): ResultTable {
  const of = listed.map(({ of: { horse } }) => horse);
  return {
    name: 'attention',
    title: 'Horses that need attention',
    relation: 'foot_visit',
    columns: [
      { name: 'called', label: 'Horse' },
      { name: 'horse_id', label: 'Its id' },
      { name: 'client_id', label: 'Client' },
      { name: 'why', label: 'Why' },
      { name: 'due_on', label: 'Due' },
      { name: 'last_visit', label: 'Last visit' },
      { name: 'days_since', label: 'Days since', digits: 0 },
      { name: 'rank', label: 'Place', digits: 0 },
    ],
    table: makeTable({
      called: textColumn(of.map(({ id, name }) => name ?? id)),
      horse_id: textColumn(of.map(({ id }) => id)),
      client_id: textColumn(of.map(({ client }) => client)),
      why: textColumn(listed.map(({ reasons }) => inShort(reasons))),
      all_reasons: textColumn(listed.map(({ reasons }) => reasons.join('; '))),
      due_on: textColumn(listed.map(({ due }) => dueWords(due))),
      last_visit: dayColumn(of.map(({ lastVisit }) => lastVisit)),
      days_since: numberColumn(of.map(({ lastVisit }) => day - lastVisit)),
      rank: numberColumn(listed.map((_, k) => k + 1)),
      ...behindColumns(
        listed.map(({ of: { horse, previousVisit } }) => ({
          where: allOf(
            isLevel('horse_id', horse.id),
            `visit_date >= ${dateSql(previousVisit ?? horse.lastVisit)}`,
          ),
          title: `${horse.name ?? horse.id}, the latest two visits`,
        })),
      ),
    }),
  };
}

const kindWords = (kind: Kind, { within_days }: CaseloadOptions): string =>
  kind === 'due' ? `Falls due within ${within_days} days` : KINDS[kind];

export const ofKind = (listed: readonly Listed[], kind: Kind): Listed[] =>
  listed.filter(({ kinds }) => kinds.includes(kind));

/** How many horses each reason holds for; only those it holds for. */
export function reasonsTable(listed: readonly Listed[], options: CaseloadOptions): ResultTable {
  const kinds = (Object.keys(KINDS) as Kind[]).filter((kind) => ofKind(listed, kind).length > 0);
  return {
    name: 'reasons',
    title: 'How many horses need attention, by reason',
    relation: 'foot_visit',
    columns: [
      { name: 'reason', label: 'Reason' },
      { name: 'n_horses', label: 'Horses', digits: 0 },
    ],
    table: makeTable({
      reason: textColumn(kinds.map((kind) => kindWords(kind, options))),
      n_horses: numberColumn(kinds.map((kind) => ofKind(listed, kind).length)),
      ...behindColumns(
        kinds.map((kind) => ({
          where: latestOf(ofKind(listed, kind)),
          title: `${kindWords(kind, options).toLowerCase()}: latest visits`,
        })),
      ),
    }),
  };
}

/** The latest visits of some horses. */
export function latestOf(listed: readonly Listed[]): string {
  return allOf(
    isOneOf(
      'horse_id',
      listed.map(({ horseId }) => horseId),
    ),
    '(horse_id, visit_date) IN (SELECT (horse_id, max(visit_date)) FROM foot_visit GROUP BY horse_id)',
  );
}

export const changeWords = ({ difference: { low, high } }: Change): string =>
  low > 0 ? 'more' : high < 0 ? 'less' : 'no change that these records can tell';

export function changesTable(changes: readonly Change[]): ResultTable {
  return {
    name: 'changes',
    title: 'The latest season against earlier ones',
    relation: 'foot_visit',
    columns: [
      { name: 'problem', label: 'Problem' },
      { name: 'against', label: 'Against' },
      { name: 'season', label: 'Season' },
      { name: 'earlier', label: 'Earlier season' },
      shareColumn('now', 'Share now'),
      shareColumn('before', 'Share then'),
      ...shownEstimate('Difference', 1, 'points'),
      { name: 'reading', label: 'In words' },
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_visits', label: 'Foot visits', digits: 0 },
    ],
    table: makeTable({
      problem: textColumn(changes.map(({ problem }) => capital(problemLabel(problem)))),
      against: textColumn(changes.map(({ apart }) => AGAINST[apart])),
      season: textColumn(changes.map(({ now }) => now.season)),
      earlier: textColumn(changes.map(({ before }) => before.season)),
      now: numberColumn(changes.map(({ now }) => now.share.estimate)),
      before: numberColumn(changes.map(({ before }) => before.share.estimate)),
      ...estimateColumns(changes.map(({ difference }) => difference)),
      reading: textColumn(changes.map(changeWords)),
      n_horses: numberColumn(changes.map(({ counts }) => counts.horses)),
      n_feet: numberColumn(changes.map(({ counts }) => counts.feet)),
      n_visits: numberColumn(changes.map(({ counts }) => counts.cycles)),
      ...behindColumns(changes.map((change) => ({ where: change.where, title: changeTitle(change) }))),
    }),
  };
}

export const changeTitle = ({ problem, now, before }: Change): string =>
  `${problemLabel(problem)} graded, ${now.season} and ${before.season}`;

export function gapsTable(gaps: readonly Gap[]): ResultTable {
  return {
    name: 'gaps',
    title: 'What the records lack',
    relation: 'foot_visit',
    columns: [
      { name: 'measure', label: 'Not recorded' },
      { name: 'percent_missing', label: 'Share', unit: '%', digits: 1 },
      { name: 'n_visits', label: 'Foot visits', digits: 0 },
      { name: 'weakens', label: 'Weakens' },
    ],
    table: makeTable({
      measure: textColumn(gaps.map(({ measure }) => measure)),
      percent_missing: numberColumn(gaps.map(({ missing, of }) => (100 * missing) / of)),
      n_visits: numberColumn(gaps.map(({ missing }) => missing)),
      n_asked: numberColumn(gaps.map(({ of }) => of)),
      weakens: textColumn(gaps.map(({ weakens }) => weakens)),
      ...behindColumns(
        gaps.map(({ where, measure }) => ({ where, title: `${measure.toLowerCase()} not recorded` })),
      ),
    }),
  };
}

/** Shares of both seasons and their differences, tidy. */
export function caseloadEstimates(changes: readonly Change[], { horses }: Round): ResultTable {
  const shares = changes.flatMap(({ problem, now, before }) =>
    [now, before].map(
      ({ season, share, counts, where }): TidyRow => ({
        problem,
        term: 'share of graded foot visits affected',
        level: season,
        estimate: share.estimate,
        stdError: share.stdError,
        low: share.low,
        high: share.high,
        unit: 'share',
        counts,
        behind: where,
        behindTitle: `${problemLabel(problem)} graded, ${season}`,
      }),
    ),
  );
  const unique = [...new Map(shares.map((row) => [`${row.problem} ${row.level}`, row])).values()];
  const differences = changes.map(
    (change): TidyRow => ({
      problem: change.problem,
      term: 'difference of shares in per cent',
      level: `${change.now.season} against ${change.before.season}`,
      estimate: change.difference.estimate,
      stdError: change.difference.stdError,
      low: change.difference.low,
      high: change.difference.high,
      unit: 'points',
      counts: change.counts,
      behind: change.where,
      behindTitle: changeTitle(change),
    }),
  );
  const onRound: TidyRow[] =
    horses.length === 0
      ? []
      : [
          {
            problem: null,
            term: 'horses on the round',
            level: 'all',
            estimate: horses.length,
            stdError: null,
            low: null,
            high: null,
            unit: 'horses',
            counts: {
              horses: horses.length,
              feet: horses.reduce((sum, { horse }) => sum + horse.feet.length, 0),
              cycles: horses.reduce((sum, { horse }) => sum + horse.nCycles, 0),
            },
            behind: null,
            behindTitle: null,
          },
        ];
  return {
    ...tidyTable('caseload', 'Caseload', [...unique, ...differences, ...onRound], 3),
    relation: 'foot_visit',
  };
}

const capital = (text: string): string => text.replace(/^./, (letter) => letter.toUpperCase());
