import type { FileKind } from './mapping.ts';

/** Where every row of one file went. A row is a foot row, a horse, or a source row that could not be used. */
export interface FileReport {
  readonly file: string;
  readonly kind: FileKind;
  readonly encoding: string | null;
  readonly delimiter: string | null;
  /** Rows in the file, without header and blank lines. */
  readonly sourceRows: number;
  /**
   * Source rows that made no row: too few or too many cells, a stray quotation mark, the header again, totals, nothing
   * recorded for any foot.
   */
  readonly unusableRows: number;
  /** Rows made from the usable source rows (a wide row makes up to four) plus the unusable ones. */
  readonly rowsRead: number;
  readonly admitted: number;
  readonly setAside: number;
  /** Feet of wide rows with nothing recorded: they make no row. */
  readonly emptyFeet: number;
}

export interface IntakeReport {
  readonly files: readonly FileReport[];
  readonly rowsRead: number;
  readonly admitted: number;
  readonly setAside: number;
  /** `rowsRead = admitted + setAside`, in each file and over all. */
  readonly identityHolds: boolean;
  /** Worth knowing, nothing lost: breeds not in the table, horses missing from the horses file or the visits. */
  readonly notices: readonly string[];
}

export function makeReport(files: readonly FileReport[], notices: readonly string[]): IntakeReport {
  const sum = (of: (f: FileReport) => number): number => files.reduce((total, f) => total + of(f), 0);
  const [rowsRead, admitted, setAside] = [
    sum((f) => f.rowsRead),
    sum((f) => f.admitted),
    sum((f) => f.setAside),
  ];
  const identityHolds =
    rowsRead === admitted + setAside && files.every((f) => f.rowsRead === f.admitted + f.setAside);
  return { files, rowsRead, admitted, setAside, identityHolds, notices };
}
