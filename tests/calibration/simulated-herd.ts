import type { FootRow } from '../../data/foot-row.ts';
import { VISIT_COLUMNS } from '../../data/foot-row.ts';
import { type HorseHistory, herd } from '../../data/herd.ts';
import { FEET } from '../../data/truth.ts';
import { YARDS } from '../../data/yards.ts';
import type { HerdTables } from '../../src/analyses/load-herd.ts';
import {
  booleanColumn,
  type Column,
  dayColumn,
  makeTable,
  numberColumn,
  textColumn,
} from '../../src/core/table.ts';

const HORSES = YARDS.reduce((sum, yard) => sum + yard.horses, 0);

/**
 * Herds `from` (0 is the demo herd itself) up to but not `to`, each as large as the demo herd and made by the same
 * maker from other seeds: the same twelve grounds and usual intervals, other horses, visits and fates. None has a
 * spoilt row.
 */
export function* simulatedHerds(from: number, to: number): Generator<readonly HorseHistory[]> {
  const horses = herd(6);
  for (let round = 0; round < to; round++) {
    const histories = Array.from({ length: HORSES }, () => horses.next().value as HorseHistory);
    if (round >= from) yield histories;
  }
}

/** The rows as intake would admit them. */
export function tablesOf(histories: readonly HorseHistory[]): HerdTables {
  const rows = histories.flatMap((history) => history.rows);
  const columns: Record<string, Column> = {};
  for (const [name, kind] of Object.entries(VISIT_COLUMNS) as [keyof FootRow, string][]) {
    const cells = rows.map((row) => row[name]);
    columns[name] =
      kind === 'text'
        ? textColumn(cells as (string | null)[])
        : kind === 'day'
          ? dayColumn(cells as number[])
          : kind === 'boolean'
            ? booleanColumn(cells as (boolean | null)[])
            : numberColumn(cells as (number | null)[]);
  }
  columns.source_file = textColumn(rows.map(() => 'simulated'));
  columns.source_line = numberColumn(rows.keys());
  const horses = histories.map(({ horse }) => horse);
  return {
    visits: makeTable(columns),
    horses: makeTable({
      horse_id: textColumn(horses.map(({ row }) => row.horse_id)),
      client_id: textColumn(horses.map(({ row }) => row.client_id)),
      // The type itself: that the breed table finds it is another test's matter.
      breed_type: textColumn(horses.map(({ breedType }) => breedType)),
    }),
  };
}

/** A time since the first clear visit, in days, and whether it ended in a return. */
export type Followed = readonly [days: number, returned: boolean];

/**
 * Separation's returns with their true dates, from each first clear visit after one with it: `seen`, the onset of the
 * spell in which a visit found it again; `any`, the first onset at all, found or not. Followed to the last visit at
 * which it was graded.
 */
export function trueReturns(histories: readonly HorseHistory[]): { seen: Followed[]; any: Followed[] } {
  const [seen, any]: [Followed[], Followed[]] = [[], []];
  for (const { feet } of histories) {
    for (const foot of FEET) {
      const looks = feet[foot].rows
        .filter((row) => row.separation_grade !== null)
        .map((row) => ({ day: row.visit_date, present: row.separation_grade! >= 1 }));
      const { spells } = feet[foot].problems.separation;
      const last = looks.at(-1)?.day ?? 0;
      looks.forEach(({ day, present }, i) => {
        if (present || !looks[i - 1]?.present) return;
        const found = looks.slice(i).find((look) => look.present);
        const spell =
          found && spells.find(({ start, end }) => start <= found.day && (end === null || end > found.day));
        seen.push(spell ? [spell.start - day, true] : [last - day, false]);
        const next = spells.find(({ start }) => start > day && start <= last);
        any.push(next ? [next.start - day, true] : [last - day, false]);
      });
    }
  }
  return { seen, any };
}
