/** The flag of a cycle across a visit at which the horse's other feet were recorded: this one was probably trimmed too. */
export const PASSED_OVER = 'another visit between';

/**
 * A horse of whose visits at least this share hold every foot that was ever recorded of it is usually written down whole,
 * so that a foot missing at a visit was probably trimmed all the same. Feet recorded singly or in turns say nothing of the
 * others (a rule of this program's own).
 */
const USUALLY_ALL_FEET = 0.75;

/**
 * Common table expressions ending in `horse_visits`: a row a horse a day, the visit's number in the horse's record, and
 * whether the horse is usually written down whole. Nothing reaches from one horse to another.
 */
export function horseVisitsSql(from: string, where: string): string {
  return `feet_of AS (
  SELECT horse_id, count(DISTINCT foot) AS feet_ever FROM ${from} WHERE ${where} GROUP BY horse_id
), feet_on AS (
  SELECT horse_id, visit_date, count(DISTINCT foot) AS feet,
    row_number() OVER (PARTITION BY horse_id ORDER BY visit_date) AS horse_visit
  FROM ${from} WHERE ${where} GROUP BY horse_id, visit_date
), horse_visits AS (
  SELECT horse_id, visit_date, horse_visit,
    avg((feet = feet_ever)::INTEGER) OVER (PARTITION BY horse_id) >= ${USUALLY_ALL_FEET} AS usually_all_feet
  FROM feet_on JOIN feet_of USING (horse_id)
)`;
}
