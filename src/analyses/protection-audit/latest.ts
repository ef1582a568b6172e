import type { DecisionTable } from '../../core/decision-table.ts';
import { makeTable, numberColumn, numbers, type Table, textColumn, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { FOOT_LABELS } from '../../herd/vocabularies.ts';
import type { ResultTable } from '../analysis.ts';
import { ADVICE_WORDS, adviceSql, askedFor } from './verdict.ts';

/** How a foot stands to the advice, those to look at first in front. */
const STANDINGS = [
  'protect, but left bare',
  'may stay bare, but left protected',
  'not enough recorded to say',
  'what it left in is not recorded',
  'left as your rule says',
] as const;

/** Each foot once, as last seen; those not seen for long before the last visit on record left out. */
export function latestSql(rule: DecisionTable, days: number): string {
  const asked = askedFor(rule);
  const lacks = asked.map(
    ({ column, words }) => `CASE WHEN ${quoteName(column)} IS NULL THEN ${literal(words)} END`,
  );
  const place = `CASE WHEN advice = 'protect' AND protection = 'bare' THEN 0
      WHEN advice = 'bare' AND protection <> 'bare' THEN 1 WHEN advice = 'unknown' THEN 2
      WHEN protection IS NULL THEN 3 ELSE 4 END`;
  const words = (column: string, of: Readonly<Record<string, string>>): string =>
    `CASE ${column} ${Object.entries(of)
      .map(([value, label]) => `WHEN ${literal(value)} THEN ${literal(label)}`)
      .join(' ')} END`;
  return `
    WITH last_seen AS (
      SELECT * FROM foot_visit
      QUALIFY row_number() OVER (PARTITION BY foot_key ORDER BY visit_date DESC, source_file DESC, source_line DESC) = 1
    ), judged AS (
      SELECT *, ${adviceSql(rule)} AS advice,
        ${lacks.length > 0 ? `nullif(concat_ws(', ', ${lacks.join(', ')}), '')` : 'NULL::VARCHAR'} AS missing
      FROM last_seen WHERE visit_date >= (SELECT max(visit_date) FROM foot_visit) - ${days}
    )
    SELECT (${place})::INTEGER AS place,
      CASE (${place}) ${STANDINGS.map((standing, k) => `WHEN ${k} THEN ${literal(standing)}`).join(' ')} END AS standing,
      coalesce(horse_name, horse_id) AS horse, horse_id, client_id, ${words('foot', FOOT_LABELS)} AS foot, visit_date,
      ${words('advice', ADVICE_WORDS)} AS advice, protection AS left_in,
      CASE WHEN advice = 'unknown' THEN missing END AS missing,
      breed_type, terrain, moisture, sole_depth_mm::DOUBLE AS sole_depth_mm, sensitivity::DOUBLE AS sensitivity,
      'row_key = ''' || replace(row_key::VARCHAR, '''', '''''') || '''' AS behind,
      coalesce(horse_name, horse_id) || ', ' || ${words('foot', FOOT_LABELS)} || ', as last seen' AS behind_title
    FROM judged ORDER BY place, horse, horse_id, foot_key`;
}

/** Each foot's advice and what it left in, where they differ first. */
export function latestTable(latest: Table): ResultTable {
  return {
    name: 'today',
    title: 'Each foot as last seen, by your rule',
    relation: 'foot_visit',
    columns: [
      { name: 'standing', label: 'How it stands' },
      { name: 'horse', label: 'Horse' },
      { name: 'foot', label: 'Foot' },
      { name: 'client_id', label: 'Client' },
      { name: 'visit_date', label: 'Seen on' },
      { name: 'advice', label: 'By your rule' },
      { name: 'left_in', label: 'Left in' },
      { name: 'breed_type', label: 'Breed type' },
      { name: 'terrain', label: 'Ground' },
      { name: 'moisture', label: 'Moisture' },
      { name: 'sole_depth_mm', label: 'Sole depth', unit: 'mm', digits: 1 },
      { name: 'sensitivity', label: 'Tenderness grade', digits: 0 },
      { name: 'missing', label: 'Not recorded' },
    ],
    table: latest,
  };
}

export interface Standing {
  readonly standing: (typeof STANDINGS)[number];
  readonly feet: number;
  readonly horses: number;
}

/** Feet and horses by how they stand, those without any left out. */
export function standings(latest: Table): Standing[] {
  const place = numbers(latest, 'place');
  const horse = texts(latest, 'horse_id');
  const horses = STANDINGS.map(() => new Set<string | null>());
  const feet = STANDINGS.map(() => 0);
  place.forEach((k, row) => {
    feet[k]! += 1;
    horses[k]!.add(horse[row]!);
  });
  return STANDINGS.map((standing, k) => ({ standing, feet: feet[k]!, horses: horses[k]!.size })).filter(
    (each) => each.feet > 0,
  );
}

export function standingTable(latest: Table): ResultTable {
  const rows = standings(latest);
  const horses = new Set(texts(latest, 'horse_id')).size;
  const all = { standing: 'all feet as last seen', feet: latest.rowCount, horses };
  const told = latest.rowCount > 0 ? [...rows, all] : [];
  return {
    name: 'standing',
    title: 'Feet as last seen, by how they stand',
    relation: 'foot_visit',
    columns: [
      { name: 'standing', label: 'How they stand' },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_horses', label: 'Horses', digits: 0 },
    ],
    table: makeTable({
      standing: textColumn(told.map((row) => row.standing)),
      n_feet: numberColumn(told.map((row) => row.feet)),
      n_horses: numberColumn(told.map((row) => row.horses)),
    }),
  };
}
