import {
  cohortCondition,
  countHerd,
  type HerdCounts,
  layCohort,
  loadingOf,
  setDerived,
} from '../analyses/load-herd.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { numbers, type Table, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { makeQueue } from '../engine/in-turn.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import type { DerivedSteps } from '../herd/derived-steps.ts';
import { type ColumnName, columnOf, HORSE_COLUMNS, isColumnName, storedAs } from '../herd/dictionary.ts';
import { rowsNamedSql } from '../herd/foot-visit-sql.ts';
import { HERD } from '../herd/herd-names.ts';
import { isFault } from '../intake/values/parsed.ts';
import type { StoredValue } from '../sheet/amendment.ts';
import { type DerivedColumn, engineFault, inOrder } from '../sheet/derived-column.ts';
import type { RowValues } from '../sheet/effect.ts';
import { identityOf } from '../sheet/row-key.ts';
import type { SheetView, ViewColumn } from '../sheet/view.ts';
import { type AmendedHerd, type Applied, amendHerd } from './amended-herd.ts';
import { checkDerived, derivedSteps, NO_STEPS } from './derived-columns.ts';
import { fallbacks, holders, literals, rowsByKey, storedRow } from './herd-rows.ts';
import { proposedRows, readCells, readRow, readTyped, settleCells, settleRows } from './judge.ts';
import { derivedSheetColumn, RECORD_COLUMNS, RECORD_NAMES } from './sheet-columns.ts';
import { type SheetOrder, sheetOrders } from './sheet-orders.ts';
import type { SheetMethods, Standing } from './sheet-service.ts';
import { columnSummary } from './summarise-column.ts';

type Desk = Omit<SheetMethods, 'startBlank' | 'setAsideCells'>;

/**
 * Answers the sheet over the herd that is loaded. `inHerd` runs a job while no page computes; reading and amending need
 * no such turn, since every name they use is the herd's own and every change is one statement text.
 */
export function sheetDesk(
  engine: Engine,
  today: CivilDay,
  inHerd: <T>(job: () => Promise<T>) => Promise<T> = (job) => job(),
): Desk {
  let columns: readonly DerivedColumn[] = [];
  let steps: DerivedSteps = NO_STEPS;
  let standing: { readonly number: number; readonly herd: AmendedHerd } | null = null;

  const orders = sheetOrders(engine, {
    column: viewColumn,
    cohort: () => cohortCondition(engine),
  });

  /** Amendments over the herd as it was loaded last. */
  async function herd(): Promise<AmendedHerd> {
    const loading = await loadingOf(engine).catch((error: Error) => {
      throw /does not exist/.test(error.message) ? new Error('no records are open') : error;
    });
    if (standing?.number !== loading.number) {
      orders.forget();
      columns = [];
      steps = NO_STEPS;
      standing = {
        number: loading.number,
        herd: amendHerd(
          engine,
          today,
          () => ({ hemisphere: loading.hemisphere, derived: steps }),
          orders.touched,
        ),
      };
    }
    return standing.herd;
  }

  /** Changes come one after the other. */
  const inTurn = makeQueue();

  function viewColumn(name: string): ViewColumn {
    if (isColumnName(name)) {
      const described = columnOf(name);
      const read = (text: string): string | number | boolean => {
        const value = readTyped(name, text, today);
        if (value === null || isFault(value)) {
          throw new Error(`${described.label}: ${value === null ? 'say what to look for' : value.fault}`);
        }
        return value;
      };
      return { name, type: storedAs(described), levels: described.levels, read };
    }
    const step = steps.foot_visit.find((one) => one.name === name);
    if (!step) throw new Error(`the sheet has no column ${name}`);
    const type = ({ DOUBLE: 'number', VARCHAR: 'text', DATE: 'day', BOOLEAN: 'boolean' } as const)[step.type];
    // Derived values are read as the record's of the same kind are.
    const like = ({ number: 'birth_year', text: 'notes', day: 'visit_date', boolean: 'antifungal' } as const)[
      type
    ];
    const read = (text: string): string | number | boolean => {
      if (type === 'text') return text;
      const value = type === 'number' ? Number(text.replace(',', '.')) : readTyped(like, text, today);
      if (value === null || isFault(value) || Number.isNaN(value)) {
        throw new Error(`${name}: ${type === 'number' ? 'not a number' : 'cannot be read'}: ${text}`);
      }
      return value;
    };
    return { name, type, levels: null, read };
  }

  async function page(order: SheetOrder, from: number, end: number, signal: AbortSignal): Promise<Table> {
    const names = [...RECORD_NAMES, ...steps.foot_visit.map(({ name }) => name)].map(quoteName);
    return engine.query(
      `SELECT f.row_key, ${names.map((name) => `f.${name}`).join(', ')}
       FROM ${order.table} o JOIN ${HERD}.foot_visit_all f ON f.row_no = o.row_no
       WHERE o.rn BETWEEN ${from} AND ${end - 1} ORDER BY o.rn`,
      signal,
    );
  }

  /** An amendment may do away with an order between its making and its use: then it is made anew. */
  async function withOrder<T>(view: SheetView, use: (order: SheetOrder) => Promise<T>): Promise<T> {
    try {
      return await use(await orders.of(view));
    } catch (error) {
      if (!/sheet_order_\d+ does not exist/.test(String(error))) throw error;
      return use(await orders.of(view));
    }
  }

  /** Where a column fails on some row of the herd, that is said of it. */
  async function putDerived(fresh: DerivedSteps): Promise<void> {
    try {
      await setDerived(engine, fresh);
    } catch (error) {
      const { message } = engineFault((error as Error).message, '', 0);
      throw new Error(`a derived column cannot be worked out for every row: ${message}`);
    }
  }

  const stand = ({ counts, conflicts, asOf }: Applied): Standing => ({ counts, conflicts, asOf });

  return {
    async sheetColumns() {
      await herd();
      const derived = inOrder(columns).filter(({ on }) => on === 'foot_visit');
      return [...RECORD_COLUMNS, ...derived.map(derivedSheetColumn)];
    },
    async sheetCount(view) {
      await herd();
      return withOrder(view, async ({ rowCount }) => rowCount);
    },
    async sheetRows({ view, offset, limit }, { signal }) {
      await herd();
      const from = Math.max(0, Math.trunc(offset));
      return withOrder(view, (order) => page(order, from, from + Math.trunc(limit), signal));
    },
    async sheetPlace({ view, row }) {
      await herd();
      return withOrder(view, async ({ table }) => {
        const found = await engine.query(
          `SELECT rn FROM ${table} WHERE row_no IN (${rowsNamedSql([row], literal)}) ORDER BY rn`,
        );
        return numbers(found, 'rn')[0] ?? null;
      });
    },
    async columnSummary({ view, column, most = 8 }, { signal }) {
      await herd();
      return columnSummary(
        engine,
        { column: viewColumn(column), name: column, where: await orders.condition(view), most },
        signal,
      );
    },
    async judgeCells(cells) {
      await herd();
      const keys = new Set(cells.map(({ row }) => row));
      const rows = (await rowsByKey(engine, 'foot_visit_all', keys)) as ReadonlyMap<string, RowValues>;
      const blank = new Set(cells.flatMap(({ row, text }) => (text.trim() === '' ? [row] : [])));
      const fallback = await fallbacks(engine, blank);
      const read = readCells(cells, { rows, fallback }, today);
      const moved = [...proposedRows(cells, read, rows)].flatMap(([row, values]) =>
        identityOf(values) === identityOf(rows.get(row) ?? {}) ? [] : [identityOf(values)],
      );
      const held = await holders(engine, new Set(moved));
      return settleCells(cells, read, { rows, fallback, held });
    },
    async judgeRows(rows) {
      const amended = await herd();
      const read = rows.map((row) => readRow(row, today));
      const whole = read.filter(({ faults }) => faults.length === 0);
      const identities = new Set(whole.map(({ values }) => identityOf(values)));
      const held = await holders(engine, identities);
      // A row moved to another day still bears the name of the day it was moved from.
      const named = await rowsByKey(engine, 'visit_row', identities);
      const horses = await horseValues(engine, new Set(whole.map(({ values }) => String(values.horse_id))));
      return settleRows(read, { held, horses, isTaken: (key) => amended.isTaken(key) || named.has(key) });
    },
    async lastValues(horseId) {
      await herd();
      const names = RECORD_NAMES.filter((name) => !['horse_id', 'visit_date', 'foot'].includes(name));
      const table = await engine.query(
        `SELECT foot, ${names.map((name) => `arg_max(${name}, (visit_date, row_no)) AS ${name}`).join(', ')}
         FROM ${HERD}.foot_visit_all WHERE horse_id = ${literal(horseId)} GROUP BY foot ORDER BY foot`,
      );
      return Object.fromEntries(
        texts(table, 'foot').map((foot, row) => [String(foot), storedRow(table, row, names)]),
      );
    },
    applyAmendments: (amendments) => inTurn(async () => stand(await (await herd()).apply(amendments))),
    replaceAmendments: (log) => inTurn(async () => stand(await (await herd()).replace(log))),
    async checkExpression(column) {
      await herd();
      return checkDerived(engine, column, columns, steps);
    },
    setDerivedColumns: (next) =>
      inTurn(() =>
        inHerd(async (): Promise<HerdCounts> => {
          const amended = await herd();
          const condition = await cohortCondition(engine);
          const fresh = await derivedSteps(engine, next, steps);
          await putDerived(fresh);
          try {
            await layCohort(engine, condition);
          } catch (error) {
            await setDerived(engine, steps);
            throw new Error(
              `the cohort uses a column that would be gone or changed: ${(error as Error).message}`,
            );
          }
          columns = next;
          steps = fresh;
          orders.forget();
          if (condition !== 'TRUE') amended.forgetCounts();
          return countHerd(engine, { schema: HERD });
        }),
      ),
  };
}

/** What was recorded last of each of these horses. */
async function horseValues(engine: Engine, horses: ReadonlySet<string>): Promise<Map<string, RowValues>> {
  if (horses.size === 0) return new Map();
  const names = HORSE_COLUMNS.map(({ name }) => name).filter((name) => name !== 'horse_id');
  const table = await engine.query(
    `SELECT horse_id, ${names.map((name) => `arg_max(${name}, (visit_date, row_no)) AS ${name}`).join(', ')}
     FROM ${HERD}.foot_visit_all WHERE horse_id IN (${literals(horses)}) GROUP BY horse_id ORDER BY horse_id`,
  );
  return new Map(
    texts(table, 'horse_id').map((horse, row) => {
      const known = Object.entries(storedRow(table, row, names)).filter(([, value]) => value !== null);
      return [String(horse), Object.fromEntries(known) as Partial<Record<ColumnName, StoredValue>>];
    }),
  );
}
