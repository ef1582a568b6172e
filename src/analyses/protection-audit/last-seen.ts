import { isoFromDay } from '../../core/civil-day.ts';
import type { DecisionTable } from '../../core/decision-table.ts';
import { byText } from '../../core/sort-rows.ts';
import { dayColumn, makeTable, numberColumn, type Table, textColumn } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { ROW_IDENTITY } from '../../herd/foot-visit-sql.ts';
import { FOOT_LABELS } from '../../herd/vocabularies.ts';
import type { AskContext } from '../analysis.ts';
import { type CycleColumn, NO_MARK } from '../cycle-columns.ts';
import { groupAsk, markAsk, numberAsk } from '../cycle-table.ts';
import { type CohortVisits, cohortVisits, footName, horseOf, isLater } from '../visit-rows.ts';
import { ADVICES, adviceAsk } from './data.ts';
import { STANDINGS } from './latest.ts';
import { ADVICE_WORDS, askedFor } from './verdict.ts';

const ASKED = {
  ...Object.fromEntries(
    ['horse_name', 'client_id', 'breed_type', 'terrain', 'moisture', 'protection'].map((name) => [
      name,
      groupAsk(name),
    ]),
  ),
  sole_depth_mm: numberAsk('sole_depth_mm'),
  sensitivity: markAsk('sensitivity'),
  /** Few rows keep another name than that of their horse, day and foot. */
  own_key: { kind: 'text', sql: `nullif(row_key, ${ROW_IDENTITY})` },
} as const;

/** Each foot once, as last seen in the cohort; those not seen for long before its last visit left out. */
export async function lastSeen(context: AskContext, rule: DecisionTable, days: number): Promise<Table> {
  const visits = await cohortVisits(context, [adviceAsk(rule), ...Object.values(ASKED)]);
  const [advice, ...columns] = visits.columns;
  const found = new Map(Object.keys(ASKED).map((name, k) => [name, columns[k]!]));
  const asked = askedFor(rule);
  const seen = lastRows(visits, days).map((row) => {
    const cell = (name: string) => cellOf(found.get(name)!, row);
    const text = (name: string) => cell(name) as string | null;
    const [id, foot, day] = [
      visits.horseIds[horseOf(visits.foot[row]!)]!,
      footName(visits.foot[row]!),
      visits.day[row]!,
    ];
    const said = ADVICES[cellOf(advice!, row) as number]!;
    const lacking = asked.filter(({ column }) => cell(column) === null).map(({ words }) => words);
    const protection = text('protection');
    return {
      place: placeOf(said, protection),
      horse: text('horse_name') ?? id,
      id,
      foot,
      day,
      said,
      protection,
      missing: said === 'unknown' && lacking.length > 0 ? lacking.join(', ') : null,
      key: text('own_key') ?? `${id}|${isoFromDay(day)}|${foot}`,
      client: text('client_id'),
      breed: text('breed_type'),
      terrain: text('terrain'),
      moisture: text('moisture'),
      sole: cell('sole_depth_mm') as number | null,
      grade: cell('sensitivity') as number | null,
    };
  });
  seen.sort(
    (a, b) => a.place - b.place || byText(a.horse, b.horse) || byText(a.id, b.id) || byText(a.foot, b.foot),
  );
  return makeTable({
    place: numberColumn(seen.map(({ place }) => place)),
    standing: textColumn(seen.map(({ place }) => STANDINGS[place])),
    horse: textColumn(seen.map(({ horse }) => horse)),
    horse_id: textColumn(seen.map(({ id }) => id)),
    client_id: textColumn(seen.map(({ client }) => client)),
    foot: textColumn(seen.map(({ foot }) => FOOT_LABELS[foot])),
    visit_date: dayColumn(seen.map(({ day }) => day)),
    advice: textColumn(seen.map(({ said }) => ADVICE_WORDS[said])),
    left_in: textColumn(seen.map(({ protection }) => protection)),
    missing: textColumn(seen.map(({ missing }) => missing)),
    breed_type: textColumn(seen.map(({ breed }) => breed)),
    terrain: textColumn(seen.map(({ terrain }) => terrain)),
    moisture: textColumn(seen.map(({ moisture }) => moisture)),
    sole_depth_mm: numberColumn(seen.map(({ sole }) => sole)),
    sensitivity: numberColumn(seen.map(({ grade }) => grade)),
    behind: textColumn(seen.map(({ key }) => `row_key = ${literal(key)}`)),
    behind_title: textColumn(seen.map(({ horse, foot }) => `${horse}, ${FOOT_LABELS[foot]}, as last seen`)),
  });
}

/** The last row of each foot seen within so many days of the cohort's last visit. */
function lastRows(visits: CohortVisits, days: number): number[] {
  const { places, foot, day } = visits;
  const latest = places.reduce((last, row) => Math.max(last, day[row]!), Number.NEGATIVE_INFINITY);
  const found: number[] = [];
  for (let i = 0; i < places.length; ) {
    let last = places[i]!;
    const at = foot[last];
    // In time; of one day the last by file and line, a row without them before the others.
    for (i += 1; i < places.length && foot[places[i]!] === at; i++) {
      const row = places[i]!;
      if (day[row]! > day[last]! || isLater(visits, row, last)) last = row;
    }
    if (day[last]! >= latest - days) found.push(last);
  }
  return found;
}

function placeOf(said: (typeof ADVICES)[number], protection: string | null): number {
  if (said === 'protect' && protection === 'bare') return 0;
  if (said === 'bare' && protection !== null && protection !== 'bare') return 1;
  if (said === 'unknown') return 2;
  return protection === null ? 3 : 4;
}

function cellOf(column: CycleColumn, row: number): string | number | null {
  if (column instanceof Float64Array) return Number.isNaN(column[row]!) ? null : column[row]!;
  if (column instanceof Int8Array) return column[row] === NO_MARK ? null : column[row]!;
  return column.levels[column.codes[row]!] ?? null;
}
