import type { BrokenRow, BrokenRun } from './source.ts';

/** More broken rows than anybody mends by hand: what follows is told as runs of lines, since each row kept takes room. */
export const BROKEN_KEPT = 10_000;

/** The broken rows of a file as they come: the first are kept, the others counted by runs. */
export class BrokenRows {
  readonly kept = new Map<number, BrokenRow>();
  private readonly runs: { line: number; lastLine: number; rows: number; first: BrokenRow }[] = [];
  /** No other row stands between this one and the last of the run. */
  private isOpen = false;

  /** Another row, sound or kept, ends a run. */
  endRun(): void {
    this.isOpen = false;
  }

  /** Is the row kept, as row `at`? Otherwise it was counted. */
  keeps(at: number, line: number, row: BrokenRow): boolean {
    if (this.kept.size < BROKEN_KEPT) {
      this.kept.set(at, row);
      return true;
    }
    const run = this.runs.at(-1);
    if (this.isOpen && run?.first.reason === row.reason) {
      run.lastLine = line;
      run.rows++;
    } else {
      this.runs.push({ line, lastLine: line, rows: 1, first: row });
      this.isOpen = true;
    }
    return false;
  }

  done(): BrokenRun[] {
    return this.runs.map(({ first, ...run }) => ({ ...run, reason: runReason(run, first.reason), first }));
  }
}

function runReason({ lastLine, rows }: { lastLine: number; rows: number }, reason: string): string {
  return rows === 1 ? reason : `${reason}; so it is with all ${rows} rows from here to line ${lastLine}`;
}
