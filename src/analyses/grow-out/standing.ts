import { type CivilDay, isoFromDay } from '../../core/civil-day.ts';
import { numbers, type Table, texts } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { allOf } from '../groups.ts';
import type { GrowingOut } from './options.ts';

/** An injury older than this has grown out whatever the rate: twice the handbooks' renewal of the toe. */
export const OLDEST_INJURY_DAYS = 730;

/** The toe as the visit left it: how far a defect at the coronet has to come. */
const TOE = 'coalesce(toe_after_mm, toe_before_mm)';

/** Of each problem: when it was told, whether it stood, how far its upper end was from the ground. */
export const PROBLEM_SQL: Readonly<
  Record<GrowingOut, { readonly graded: string; readonly present: string; readonly distance: string }>
> = {
  separation: {
    graded: 'separation_grade IS NOT NULL',
    present: 'separation_grade >= 1',
    distance: 'separation_height_mm',
  },
  coronet_crack: {
    graded: 'crack_grade IS NOT NULL',
    present: "crack_grade >= 1 AND crack_origin = 'coronet'",
    distance: TOE,
  },
  coronet_injury: { graded: 'coronet_injury', present: 'coronet_injury', distance: TOE },
};

/**
 * The visits at which a problem stands on one horse: of each foot the latest at which it was told. An injury shows once,
 * when it is fresh, and travels down the wall from there. Feet not seen for `within` days before `day` are left out.
 */
export function standingSql(problem: GrowingOut, horseId: string, day: CivilDay, within: number): string {
  const today = `DATE ${literal(isoFromDay(day))}`;
  const { graded, present, distance } = PROBLEM_SQL[problem];
  const isInjury = problem === 'coronet_injury';
  return `
    WITH own AS MATERIALIZED (SELECT * FROM foot_visit WHERE horse_id = ${literal(horseId)}),
    looked AS (
      SELECT foot_key, count(*) AS n_visits, max(visit_date) FILTER (WHERE visit_date <= ${today}) AS latest,
        max(visit_date) FILTER (WHERE ${graded} AND visit_date <= ${today}) AS told
      FROM own GROUP BY foot_key
    )
    SELECT v.foot_key, horse_id, horse_name, client_id, foot, terrain, visit_date AS seen_on,
      ${distance}::DOUBLE AS distance, n_visits
    FROM (SELECT * FROM own WHERE (${present}) AND visit_date >= ${today} - ${isInjury ? OLDEST_INJURY_DAYS : within}) v
    JOIN looked ON looked.foot_key = v.foot_key AND told = visit_date
    ${isInjury ? `WHERE latest >= ${today} - ${within}` : ''}
    ORDER BY horse_id, v.foot_key`;
}

const latestOf = (graded: string, until: string): string =>
  `(foot_key, visit_date) IN (SELECT (foot_key, max(visit_date)) FROM foot_visit WHERE ${graded} AND visit_date <= ${until} GROUP BY foot_key)`;

/** A crack from the ground, or from an unknown place. */
export const CRACK_FROM_ELSEWHERE = "crack_grade >= 1 AND crack_origin IS DISTINCT FROM 'coronet'";

/** Cracks that no growth says anything about: no height is on record for one from the ground, or where it starts is not. */
export function otherCracksWhere(day: CivilDay, within: number): string {
  const today = `DATE ${literal(isoFromDay(day))}`;
  return allOf(
    CRACK_FROM_ELSEWHERE,
    latestOf(PROBLEM_SQL.coronet_crack.graded, today),
    `visit_date >= ${today} - ${within}`,
  );
}

/** A foot on which something stands that has to grow out. */
export interface Standing {
  readonly problem: GrowingOut;
  readonly footKey: string;
  readonly horseId: string;
  readonly horseName: string | null;
  readonly clientId: string | null;
  readonly foot: string;
  /** Ground at that visit. */
  readonly terrain: string | null;
  readonly seenOn: CivilDay;
  /** From its upper end to the ground-bearing edge, mm; NaN where not recorded. */
  readonly distanceMm: number;
  readonly nVisits: number;
}

export function standingFrom(problem: GrowingOut, table: Table): Standing[] {
  const text = (name: string) => texts(table, name);
  const [key, horse, name, client, foot, terrain] = [
    text('foot_key'),
    text('horse_id'),
    text('horse_name'),
    text('client_id'),
    text('foot'),
    text('terrain'),
  ];
  const [seen, distance, visits] = [
    numbers(table, 'seen_on'),
    numbers(table, 'distance'),
    numbers(table, 'n_visits'),
  ];
  return Array.from({ length: table.rowCount }, (_, row) => ({
    problem,
    footKey: key![row]!,
    horseId: horse![row]!,
    horseName: name![row] ?? null,
    clientId: client![row] ?? null,
    foot: foot![row]!,
    terrain: terrain![row] ?? null,
    seenOn: seen![row]! as CivilDay,
    distanceMm: distance![row]!,
    nVisits: visits![row]!,
  }));
}
