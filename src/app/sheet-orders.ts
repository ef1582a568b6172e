import { numbers } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { isColumnName } from '../herd/dictionary.ts';
import { HERD } from '../herd/herd-names.ts';
import { footOrder } from '../herd/relations.ts';
import { filterSql, orderSql, type SheetView, type ViewColumn } from '../sheet/view.ts';
import type { Touched } from './amended-difference.ts';

/** By horse and day, the four feet together. */
const USUAL = `horse_id, visit_date, ${footOrder('foot')}, row_no`;
const MOST_ORDERS = 3;

/** The order of a view, made once: `rn` from 0, and `row_no`. */
export interface SheetOrder {
  readonly table: string;
  readonly rowCount: number;
}

interface SheetOrders {
  of(view: SheetView): Promise<SheetOrder>;
  /** The condition of a view over `foot_visit_all`. */
  condition(view: SheetView): Promise<string>;
  /** Lets go of orders that no longer hold. */
  touched(what: Touched): void;
  forget(): void;
}

interface OrderParts {
  column(name: string): ViewColumn;
  cohort(): Promise<string>;
}

interface Held {
  readonly key: string;
  readonly order: Promise<SheetOrder>;
  /** Columns on which the order rests; null where any may matter. */
  readonly uses: ReadonlySet<string> | null;
}

export function sheetOrders(engine: Engine, { column, cohort }: OrderParts): SheetOrders {
  let held: Held[] = [];
  let lastNumber = 0;

  async function condition({ filters, wholeHerd }: SheetView): Promise<string> {
    const parts = filters.map((filter) => filterSql(filter, column(filter.column)));
    const among = wholeHerd ? 'TRUE' : await cohort();
    if (among !== 'TRUE') parts.push(`(${among}\n)`);
    return parts.length === 0 ? 'TRUE' : parts.join(' AND ');
  }

  async function make(where: string, { sort }: SheetView): Promise<SheetOrder> {
    lastNumber += 1;
    const table = `${HERD}.sheet_order_${lastNumber}`;
    const by = orderSql(sort, sort && column(sort.column), USUAL);
    await engine.run(
      `CREATE OR REPLACE TABLE ${table} AS
       SELECT (row_number() OVER (ORDER BY ${by}) - 1)::INTEGER AS rn, row_no
       FROM ${HERD}.foot_visit_all WHERE ${where} ORDER BY rn`,
    );
    const counted = await engine.query(`SELECT count(*) AS n FROM ${table}`);
    return { table, rowCount: numbers(counted, 'n')[0] ?? 0 };
  }

  function drop(gone: readonly Held[]): void {
    held = held.filter((one) => !gone.includes(one));
    for (const { order } of gone) {
      // Reads under way come first in the engine's queue.
      order.then(({ table }) => engine.run(`DROP TABLE IF EXISTS ${table}`)).catch(() => undefined);
    }
  }

  return {
    condition,
    async of(view) {
      const where = await condition(view);
      const isWhole = view.wholeHerd || (await cohort()) === 'TRUE';
      const key = JSON.stringify([where, view.sort]);
      const found = held.find((one) => one.key === key);
      if (found) {
        held = [...held.filter((one) => one !== found), found];
        return found.order;
      }
      const names = [
        ...view.filters.map((filter) => filter.column),
        ...(view.sort ? [view.sort.column] : []),
      ];
      const isPlain = isWhole && names.every(isColumnName);
      const one: Held = {
        key,
        order: make(where, view),
        uses: isPlain ? new Set(['horse_id', 'visit_date', 'foot', ...names]) : null,
      };
      held.push(one);
      one.order.catch(() => drop([one]));
      if (held.length > MOST_ORDERS) drop(held.slice(0, held.length - MOST_ORDERS));
      return one.order;
    },
    touched({ rows, columns }) {
      drop(
        held.filter(({ uses }) => rows || uses === null || [...columns].some((column) => uses.has(column))),
      );
    },
    forget() {
      drop(held);
    },
  };
}
