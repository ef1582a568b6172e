import { cellAt, makeTable, numberColumn, rowsOf, type Table, textColumn } from '../core/table.ts';
import { FEET } from '../herd/vocabularies.ts';

/** What must be alike for the feet of a row to be told in one line. */
const ALIKE = ['file', 'line', 'column', 'value', 'reason', 'accepted'] as const;

/**
 * The rows set aside as people read them: what is at fault with several feet of one file row alike (its date, its
 * horse, a repeat) is one line. `foot` names the feet (`LF, RF`; `all four`); `rows` counts the foot rows of a line.
 */
export function setAsideLines(setAside: Table): Table {
  const groups = new Map<string, number[]>();
  for (let at = 0; at < setAside.rowCount; at++) {
    const key = JSON.stringify(ALIKE.map((name) => cellAt(setAside, name, at)));
    // Without a foot each is a row of its own.
    const own = cellAt(setAside, 'foot', at) === null ? `${key} ${at}` : key;
    groups.set(own, [...(groups.get(own) ?? []), at]);
  }
  const rows = rowsOf(setAside);
  const lines = [...groups.values()].map((ats) => ({
    ...rows[ats[0] as number],
    feet: feetOf(setAside, ats),
    n: ats.length,
  }));
  const text = (name: string) =>
    textColumn(lines.map((line) => told((line as Record<string, unknown>)[name])));
  return makeTable({
    file: text('file'),
    line: numberColumn(lines.map((line) => Number((line as Record<string, unknown>).line))),
    foot: text('feet'),
    rows: numberColumn(lines.map(({ n }) => n)),
    column: text('column'),
    value: text('value'),
    reason: text('reason'),
    accepted: text('accepted'),
    horse_id: text('horse_id'),
    raw: text('raw'),
  });
}

function feetOf(setAside: Table, ats: readonly number[]): string | null {
  const feet = new Set(ats.map((at) => cellAt(setAside, 'foot', at)));
  const named = FEET.filter((foot) => feet.has(foot));
  if (named.length === 0) return null;
  return named.length === FEET.length ? 'all four' : named.join(', ');
}

function told(value: unknown): string | null {
  return value === null || value === undefined ? null : String(value);
}
