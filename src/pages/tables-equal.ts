import type { Column, Table } from '../core/table.ts';

function columnsEqual(a: Column, b: Column | undefined): boolean {
  if (!b || a.type !== b.type || a.values.length !== b.values.length) return false;
  for (let row = 0; row < a.values.length; row += 1) {
    if (!Object.is(a.values[row], b.values[row])) return false;
  }
  return true;
}

/** The same columns in the same order with the same values; a missing number equals a missing number. */
export function tablesEqual(a: Table, b: Table): boolean {
  const names = Object.keys(a.columns);
  return (
    a.rowCount === b.rowCount &&
    names.join('\n') === Object.keys(b.columns).join('\n') &&
    names.every((name) => columnsEqual(a.columns[name]!, b.columns[name]))
  );
}
