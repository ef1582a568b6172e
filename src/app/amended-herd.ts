import { widenForSql } from '../analyses/few-values.ts';
import { cohortCondition, countHerd, type HerdCounts, setToday } from '../analyses/load-herd.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { numbers } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { literal } from '../engine/sql-text.ts';
import { type RelationOptions, rowsNamedSql } from '../herd/foot-visit-sql.ts';
import { FOOT_ROW, HERD } from '../herd/herd-names.ts';
import { rebuildSql } from '../herd/relations.ts';
import type { Amendment, RowKey } from '../sheet/amendment.ts';
import type { Conflict } from '../sheet/conflict.ts';
import { staysWithHorse } from '../sheet/derived-column.ts';
import { aboutRows, effectOf, type RowEffect, type RowValues, rowsTouched } from '../sheet/effect.ts';
import { settleIdentities } from '../sheet/identities.ts';
import { difference, type Touched } from './amended-difference.ts';
import { breedSql, insertSql, type WrittenRow } from './amended-rows-sql.ts';
import { holders, literals, rowsByKey } from './herd-rows.ts';
import { type Sums, shifted } from './shifted-counts.ts';

/** What makes a row another row of the herd. */
const IDENTITY = ['horse_id', 'visit_date', 'foot'];
/** More horses than this, and building the whole herd anew costs less. */
const MOST_HORSES = 400;

/** A row as the source has it: as it is shown, and its own cells as written to `visit_row`. */
interface SourceRow {
  readonly shown: RowValues;
  readonly own: WrittenRow;
}

export interface Applied {
  readonly counts: HerdCounts;
  readonly conflicts: readonly Conflict[];
  readonly asOf: CivilDay;
}

/**
 * The loaded herd with a log of amendments in effect. What the source had is kept for every row that a log has named,
 * so that an undo gives it back.
 */
export interface AmendedHerd {
  apply(fresh: readonly Amendment[]): Promise<Applied>;
  replace(log: readonly Amendment[]): Promise<Applied>;
  /** Whether a row bears this name, or may bear it again. */
  isTaken(key: RowKey): boolean;
  /** What the cohort’s condition means has changed. */
  forgetCounts(): void;
}

export function amendHerd(
  engine: Engine,
  today: CivilDay,
  options: () => RelationOptions,
  touched: (what: Touched) => void,
): AmendedHerd {
  let log: readonly Amendment[] = [];
  const source = new Map<RowKey, SourceRow | null>();
  const numbersOfAdded = new Map<RowKey, number>();
  const conflicts = new Map<RowKey, readonly Conflict[]>();
  let asOf: CivilDay | null = null;
  let counted: { readonly condition: string; readonly counts: HerdCounts } | null = null;

  async function lookUp(keys: ReadonlySet<RowKey>): Promise<void> {
    const unknown = new Set([...keys].filter((key) => !source.has(key)));
    if (unknown.size === 0) return;
    const shown = await rowsByKey(engine, 'foot_visit_all', unknown);
    const own = await rowsByKey(engine, 'visit_row', unknown, ['source_file', 'source_line', 'row_no']);
    for (const key of unknown) {
      const [seen, written] = [shown.get(key), own.get(key)];
      source.set(key, seen && written ? { shown: seen, own: written } : null);
    }
  }

  /** The effect on these rows, and on others of the log that they now stand in the way of. */
  async function work(
    rows: Set<RowKey>,
  ): Promise<{ rows: Map<RowKey, RowEffect>; conflicts: readonly Conflict[] }> {
    for (;;) {
      await lookUp(rows);
      const shown = (row: RowKey): RowValues | null => source.get(row)?.shown ?? null;
      const about = aboutRows(log, rows);
      const effect = effectOf(about, shown);
      const whole = new Map([...rows].map((row) => [row, effect.rows.get(row) ?? untouched(shown(row))]));
      const held = await holders(engine, identitiesOf(whole, shown));
      const others = [...held.values()].filter((row) => !rows.has(row) && source.has(row));
      if (others.length === 0) {
        const outside = new Set([...held].filter(([, row]) => !rows.has(row)).map(([identity]) => identity));
        const settled = settleIdentities(about, whole, shown, outside);
        return { rows: settled.rows, conflicts: [...effect.conflicts, ...settled.conflicts] };
      }
      for (const row of others) rows.add(row);
    }
  }

  async function takeEffect(rows: Set<RowKey>): Promise<Applied> {
    const effect = await work(rows);
    for (const row of rows) conflicts.set(row, []);
    for (const conflict of effect.conflicts) {
      const { deed } = conflict.amendment;
      if (deed.kind !== 'undo') conflicts.set(deed.row, [...(conflicts.get(deed.row) ?? []), conflict]);
    }
    const before = await rowsByKey(engine, 'visit_row', rows);
    const after = new Map<RowKey, WrittenRow>();
    await numberAdded(effect.rows);
    for (const [row, one] of effect.rows) if (one.there) after.set(row, written(row, one));
    const what = difference(before, after);
    await put(rows, before, after, what);
    if (asOf === null || what.rows || what.columns.has('visit_date')) asOf = await setToday(engine, today);
    touched(what);
    return { counts: counted!.counts, conflicts: [...conflicts.values()].flat(), asOf };
  }

  async function numberAdded(rows: ReadonlyMap<RowKey, RowEffect>): Promise<void> {
    const fresh = [...rows].flatMap(([row, { added }]) => (added && !numbersOfAdded.has(row) ? [row] : []));
    if (fresh.length === 0) return;
    const table = await engine.query(`SELECT max(row_no) AS last FROM ${FOOT_ROW}`);
    const last = numbers(table, 'last')[0] ?? Number.NaN;
    let next = Math.max(Number.isNaN(last) ? 0 : last, ...numbersOfAdded.values()) + 1;
    for (const row of fresh) numbersOfAdded.set(row, next++);
  }

  function written(row: RowKey, { added, values }: RowEffect): WrittenRow {
    const origin = added
      ? {
          source_file: added.mends?.file ?? null,
          source_line: added.mends?.line ?? null,
          row_no: numbersOfAdded.get(row)!,
        }
      : source.get(row)!.own;
    return { ...origin, ...values };
  }

  async function put(
    rows: ReadonlySet<RowKey>,
    before: ReadonlyMap<RowKey, RowValues>,
    after: ReadonlyMap<RowKey, WrittenRow>,
    what: Touched,
  ): Promise<void> {
    const horses = new Set([...before.values(), ...after.values()].map(({ horse_id }) => String(horse_id)));
    const listed = literals(horses);
    const { derived } = options();
    const isLocal = [...(derived?.foot_visit ?? []), ...(derived?.trim_cycle ?? [])].every(({ expression }) =>
      staysWithHorse(expression),
    );
    const isFew = horses.size <= MOST_HORSES && isLocal;
    const condition = await cohortCondition(engine);
    const isKnown = isFew && counted?.condition === condition;
    // Within the whole herd, a change of measures can only flag a cycle or clear it.
    const isStill = condition === 'TRUE' && !what.rows && !IDENTITY.some((name) => what.columns.has(name));
    const count = (): Promise<Sums> =>
      isStill ? countFlagged(listed) : countHerd(engine, { horses: listed, schema: HERD });
    const was = isKnown ? await count() : null;
    const relations = rebuildSql(isFew ? listed : null, options());
    const widened = await widenForSql(engine, after.values());
    try {
      // One text, so that no other query sees the herd between two of its statements.
      await engine.run(
        [
          'BEGIN TRANSACTION',
          ...widened,
          `DELETE FROM ${FOOT_ROW} WHERE row_no IN (${rowsNamedSql(rows, literal)})`,
          ...breedSql([...after.values()].map(({ breed }) => breed)),
          ...insertSql(after),
          ...(horses.size === 0 ? [] : relations),
          'COMMIT',
        ].join(';\n'),
      );
    } catch (error) {
      await engine.run('ROLLBACK').catch(() => undefined);
      throw error;
    }
    const counts =
      was && counted
        ? shifted(counted.counts, was, await count(), isStill ? null : await daysOf())
        : await countHerd(engine, { schema: HERD });
    counted = { condition, counts };
  }

  async function countFlagged(horses: string): Promise<Sums> {
    const table = await engine.query(
      `SELECT count(*) AS n FROM ${HERD}.trim_cycle_all WHERE horse_id IN (${horses}) AND flag IS NOT NULL`,
    );
    return { flaggedCycles: numbers(table, 'n')[0] ?? 0 };
  }

  async function daysOf(): Promise<Pick<HerdCounts, 'firstDay' | 'lastDay'>> {
    const days = await engine.query(
      `SELECT min(visit_date) AS first_day, max(visit_date) AS last_day FROM ${HERD}.foot_visit`,
    );
    return {
      firstDay: numbers(days, 'first_day')[0] ?? Number.NaN,
      lastDay: numbers(days, 'last_day')[0] ?? Number.NaN,
    };
  }

  return {
    async apply(fresh) {
      const known = new Set(log.map(({ id }) => id));
      const news = fresh.filter(({ id }) => !known.has(id));
      log = [...log, ...news];
      const rows = rowsTouched(news, log);
      // What stood in the way of these may go with the news.
      for (const [row, found] of conflicts) {
        if (found.some(({ reason }) => reason === 'row is there already')) rows.add(row);
      }
      return takeEffect(rows);
    },
    async replace(whole) {
      const rows = rowsTouched([...log, ...whole], [...log, ...whole]);
      log = [...whole];
      return takeEffect(rows);
    },
    isTaken: (key) => source.has(key),
    forgetCounts() {
      counted = null;
    },
  };
}

function untouched(source: RowValues | null): RowEffect {
  return { there: source !== null, added: null, values: {} };
}

function identitiesOf(
  rows: ReadonlyMap<RowKey, RowEffect>,
  source: (row: RowKey) => RowValues | null,
): Set<string> {
  const identities = new Set<string>();
  for (const [row, { there, values }] of rows) {
    if (!there) continue;
    const { horse_id, visit_date, foot } = { ...source(row), ...values };
    identities.add(`${horse_id}|${visit_date}|${foot}`);
  }
  return identities;
}
