/** Quotes an SQL identifier (ISO/IEC 9075 delimited identifier). */
export function quoteName(name: string): string {
  return `"${name.replaceAll('"', '""')}"`;
}

/** A value as an SQL literal. Throws on a number that SQL cannot hold. */
export function literal(value: string | number | boolean | null): string {
  if (value === null) return 'NULL';
  if (typeof value === 'boolean') return value ? 'TRUE' : 'FALSE';
  if (typeof value === 'string') return `'${value.replaceAll("'", "''")}'`;
  if (!Number.isFinite(value)) throw new Error(`an SQL number must be finite: ${value}`);
  return String(value);
}
