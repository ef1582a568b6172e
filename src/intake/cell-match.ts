import { type CellKind, cellKind } from './cell-kind.ts';
import type { FileKind, MappedColumn } from './mapping.ts';
import type { SourceColumn } from './source.ts';

/** A column is of a kind where at least this share of its filled cells is. */
const ALIKE = 0.9;

type Matched = Pick<MappedColumn, 'source' | 'target' | 'foot' | 'unit' | 'confidence' | 'why'>;

/** Columns without a header: the date and the foot are known by their cells, the others are for the user to say. */
export function matchCells(columns: readonly SourceColumn[], kind: FileKind): Matched[] {
  const kinds = columns.map(kindOfColumn);
  const dates = kinds.indexOf('date');
  const feet = kinds.indexOf('foot');
  return columns.map(({ name }, index): Matched => {
    const base = { source: name, foot: null, unit: null } as const;
    if (kind === 'visits' && index === dates)
      return { ...base, target: 'visit_date', confidence: 'guess', why: 'its cells are dates' };
    if (kind === 'visits' && index === feet)
      return { ...base, target: 'foot', confidence: 'guess', why: 'its cells are feet' };
    return { ...base, target: null, confidence: 'none', why: '' };
  });
}

/** What a file without a header is remembered by: the kinds of its columns, in order. */
export function shapeOf(columns: readonly SourceColumn[]): string {
  return `no header: ${columns.map(kindOfColumn).join('|')}`;
}

function kindOfColumn(column: SourceColumn): CellKind {
  if (column.type === 'day') return 'date';
  const { counts } = column;
  const rows = new Map<CellKind, number>();
  let filled = 0;
  column.distinct.forEach((raw, code) => {
    const kind = cellKind(String(raw ?? ''));
    if (kind === 'blank') return;
    filled += counts[code] ?? 0;
    rows.set(kind, (rows.get(kind) ?? 0) + (counts[code] ?? 0));
  });
  for (const [kind, n] of rows) if (n >= filled * ALIKE) return kind;
  return 'text';
}
