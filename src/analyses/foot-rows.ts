import { numbers, type Table } from '../core/table.ts';
import { footOrder, inOrder } from './foot-order.ts';
import { type Coded, codeColumn, type Grouping } from './groups.ts';

/** Columns of a table of trim cycles, with its rows by foot and day: arrays of length n. */
interface FootRows {
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  numbers(name: string): Float64Array;
  /** Marks of 0 and 1, or other small whole numbers. */
  marks(name: string): Uint8Array;
  coded(name: string): Coded;
  /** The columns named `by …`. */
  readonly groups: Map<Grouping, Coded>;
}

/** Rows as they come, or put in order here where they bring the column `cycle_number`: the engine sorts texts slowly. */
export function footRows(table: Table): FootRows {
  const feet = codeColumn(table, 'foot_key');
  const order =
    'cycle_number' in table.columns
      ? footOrder(feet.codes, numbers(table, 'cycle_number'), feet.levels.length)
      : null;
  const put = <V extends Float64Array | Int32Array>(values: V): V =>
    order ? inOrder(values, order) : values;
  const coded = (name: string): Coded => {
    const { levels, codes } = codeColumn(table, name);
    return { levels, codes: put(codes) };
  };
  const groups = new Map<Grouping, Coded>();
  for (const name of Object.keys(table.columns)) {
    if (name.startsWith('by ')) groups.set(name.slice(3), coded(name));
  }
  return {
    horse: coded('horse_id').codes,
    foot: put(feet.codes),
    numbers: (name) => put(numbers(table, name)),
    marks: (name) => new Uint8Array(put(numbers(table, name))),
    coded,
    groups,
  };
}
