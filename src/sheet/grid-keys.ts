/** A cell of a grid; row -1 is the heading. */
export interface GridPlace {
  readonly row: number;
  readonly column: number;
}

interface GridExtent {
  readonly rowCount: number;
  readonly columnCount: number;
  /** Rows that fit in view. */
  readonly pageRows: number;
}

const within = (value: number, least: number, most: number) => Math.max(least, Math.min(most, value));

/** Where a key leads from a place, as ARIA's grid pattern has it; null for a key that does not move. */
export function placeAfterKey(
  key: { readonly key: string; readonly ctrlKey?: boolean; readonly metaKey?: boolean },
  { row, column }: GridPlace,
  { rowCount, columnCount, pageRows }: GridExtent,
): GridPlace | null {
  const far = key.ctrlKey || key.metaKey;
  const last = { row: rowCount - 1, column: columnCount - 1 };
  const to = (nextRow: number, nextColumn: number): GridPlace => ({
    row: within(nextRow, -1, last.row),
    column: within(nextColumn, 0, last.column),
  });
  switch (key.key) {
    case 'ArrowDown':
      return to(far ? last.row : row + 1, column);
    case 'ArrowUp':
      return to(far ? 0 : row - 1, column);
    case 'ArrowRight':
      return to(row, far ? last.column : column + 1);
    case 'ArrowLeft':
      return to(row, far ? 0 : column - 1);
    case 'PageDown':
      return to(Math.max(0, row) + pageRows, column);
    case 'PageUp':
      return to(Math.max(0, row - pageRows), column);
    case 'Home':
      return to(far ? 0 : row, 0);
    case 'End':
      return to(far ? last.row : row, last.column);
    default:
      return null;
  }
}
