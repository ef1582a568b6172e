import type { GridPlace } from './grid-keys.ts';
import type { GridColumn } from './row-source.ts';

/** One cell of a pasted block that has a place in the sheet. */
interface PlannedCell {
  /** Rows of the sheet and columns shown, from 0. */
  readonly row: number;
  readonly column: number;
  readonly text: string;
}

/** A cell that was not set, and why. */
export interface PasteFault {
  /** Row of the pasted block, from 1. */
  readonly pastedRow: number;
  /** Where the row would stand in the sheet, from 1; null past its end. */
  readonly sheetRow: number | null;
  readonly column: string | null;
  readonly value: string;
  readonly reason: string;
  readonly accepted: string;
}

interface PastePlan {
  readonly cells: readonly PlannedCell[];
  readonly faults: readonly PasteFault[];
}

interface PasteTarget {
  readonly columns: readonly GridColumn[];
  readonly rowCount: number;
  canEdit(column: GridColumn): boolean;
}

/** Where each cell of a block goes from a place on; every cell that has no place is a fault, none is left out. */
export function planPaste(
  block: readonly (readonly string[])[],
  at: GridPlace,
  target: PasteTarget,
): PastePlan {
  const cells: PlannedCell[] = [];
  const faults: PasteFault[] = [];
  block.forEach((texts, k) => {
    texts.forEach((value, j) => {
      const row = at.row + k;
      const column = target.columns[at.column + j];
      const fault = faultOfPlace(row, column, target);
      if (!fault) cells.push({ row, column: at.column + j, text: value });
      else
        faults.push({
          pastedRow: k + 1,
          sheetRow: row < target.rowCount ? row + 1 : null,
          column: column?.label ?? null,
          value,
          ...fault,
        });
    });
  });
  return { cells, faults };
}

function faultOfPlace(row: number, column: GridColumn | undefined, { rowCount, canEdit }: PasteTarget) {
  if (row >= rowCount) {
    return {
      reason: 'it would stand below the last row',
      accepted: 'as many rows as the sheet has from here on; new visits are added with “Add a visit”',
    };
  }
  if (!column) {
    return {
      reason: 'it would stand beyond the last column',
      accepted: 'as many columns as the sheet has from here on',
    };
  }
  return canEdit(column)
    ? null
    : {
        reason: 'this column cannot be changed here',
        accepted: 'nothing: the value is worked out or kept as read',
      };
}
