import { YEAR_DAYS } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { fitOnsetSinceReset } from '../../stats/onset-since-reset.ts';
import { compareVisits } from '../../stats/steady-visits.ts';
import { designMatrix, INTERCEPT, levelColumns, sideBySide } from '../design-columns.ts';
import type { Counts } from '../format.ts';
import { countOf, type Grouping } from '../groups.ts';
import { onsetCells } from '../onset-cells.ts';
import type { ClientRows } from './data.ts';

/** One figure under the interval as it is, under another, and the difference. */
export interface Moved {
  readonly measure: 'visits' | 'risk' | 'affected' | 'cases';
  readonly now: Estimate;
  readonly planned: Estimate;
  readonly change: Estimate;
}

export interface Move {
  readonly client: string;
  readonly nowWeeks: number;
  readonly weeks: number;
  /** All its cycles, clear at their start or not: the mix of feet, ground and season. */
  readonly counts: Counts;
  /** Of them, those seen in the last half year of the record: whom it would be visits to. */
  readonly seenLately: Pick<Counts, 'horses' | 'feet'>;
  readonly moved: readonly Moved[];
  /** Whether breed type, ground and so on were held alike. */
  readonly isAdjusted: boolean;
  /** Shortest and longest weeks in the herd's records. */
  readonly range: readonly [number, number];
}

/**
 * What the herd's records let one expect if a client were visited every `weeks`, against its usual interval
 * (the median of its own): the exact two-state form, adjusted, averaged over the client's own feet, ground and seasons.
 */
export function moveOf(
  rows: ClientRows,
  adjust: readonly Grouping[],
  client: number,
  weeks: number,
): Outcome<Move> {
  const all = Array.from(rows.days.keys());
  const full = fitWith(rows, adjust);
  // With too few horses to hold anything alike, the records as they are say more than nothing, if it is said.
  const crude = isUnavailable(full.fit) ? fitWith(rows, []) : full;
  const { onset, fit } = crude;
  if (isUnavailable(fit)) return fit;
  if (isUnavailable(fit.exponent)) return fit.exponent;
  const own = all.filter((row) => rows.client.codes[row] === client);
  const days = own.map((row) => rows.days[row]!).sort((a, b) => a - b);
  const usual = days[Math.floor((days.length - 1) / 2)];
  if (usual === undefined)
    return unavailable('no-rows', 'this client has no trim cycles graded at both ends.');
  const lately = seenLately(rows, own);
  if (lately.horses === 0) {
    return unavailable('no-rows', 'none of its horses was seen in the last half year of these records.');
  }
  const mix = {
    onset: designMatrix(onset, own),
    clearing: new Float64Array(own.length).fill(1),
  };
  const compared = compareVisits(fit, mix, usual, weeks * 7);
  if (isUnavailable(compared)) return compared;
  const counts = countOf(rows.horse, rows.foot, own);
  const { now, planned, change } = compared;
  const plain = (value: number): Estimate => ({ estimate: value, stdError: null, low: value, high: value });
  const visits = [usual, weeks * 7].map((d) => (lately.horses * YEAR_DAYS) / d);
  return {
    client: rows.client.levels[client]!,
    nowWeeks: usual / 7,
    weeks,
    counts,
    seenLately: lately,
    isAdjusted: crude === full && adjust.length > 0,
    range: [fit.timeRange[0] / 7, fit.timeRange[1] / 7],
    moved: [
      {
        measure: 'visits',
        now: plain(visits[0]!),
        planned: plain(visits[1]!),
        change: plain(visits[1]! - visits[0]!),
      },
      { measure: 'risk', now: now.risk, planned: planned.risk, change: change.risk },
      { measure: 'affected', now: now.affected, planned: planned.affected, change: change.affected },
      {
        measure: 'cases',
        now: times(now.perYear, lately.feet),
        planned: times(planned.perYear, lately.feet),
        change: times(change.perYear, lately.feet),
      },
    ],
  };
}

/** Half a year: a horse unseen for longer is no longer on the round. */
const LATELY_DAYS = 183;

function seenLately(rows: ClientRows, own: readonly number[]): Move['seenLately'] {
  const last = rows.ended.reduce((most, day) => Math.max(most, day), Number.NEGATIVE_INFINITY);
  const { horses, feet } = countOf(
    rows.horse,
    rows.foot,
    own.filter((row) => rows.ended[row]! >= last - LATELY_DAYS),
  );
  return { horses, feet };
}

function fitWith(rows: ClientRows, adjust: readonly Grouping[]) {
  const coded = adjust.map((name) => rows.groups.get(name)!);
  const onset = sideBySide(INTERCEPT, ...adjust.map((name, k) => levelColumns(name, coded[k]!)));
  const columns = [rows.start, rows.end, rows.days, ...coded.map(({ codes }) => codes)];
  return { onset, fit: fitOnsetSinceReset(onsetCells(rows, columns, onset)) };
}

const times = ({ estimate, stdError, low, high }: Estimate, by: number): Estimate => ({
  estimate: estimate * by,
  stdError: stdError === null ? null : stdError * by,
  low: low * by,
  high: high * by,
});
