import { BrokenRows } from './broken-rows.ts';
import { TextCollector } from './collect-texts.ts';
import type { Dialect } from './dialect.ts';
import { headerNames, refuseTooWide } from './header-names.ts';
import type { LineSink } from './plain-lines.ts';
import type { RawRecord } from './records.ts';
import { IntakeRefusal } from './refusal.ts';
import { looksLikeRow } from './row-for-header.ts';
import { IntList, type Source } from './source.ts';

/** First record with content is the header, unless it looks like a row; the others go to columns, or are broken. */
export class RowCollector {
  private names: string[] | null = null;
  private hasHeader = true;
  private columns: TextCollector[] = [];
  private readonly lines = new IntList();
  private readonly broken = new BrokenRows();
  private readonly file: string;

  constructor(file: string) {
    this.file = file;
  }

  take({ cells, line, stray }: RawRecord, skippedLines: number): void {
    if (cells.every((cell) => cell.trim() === '')) return;
    if (!this.names) {
      refuseTooWide(this.file, cells);
      this.hasHeader = stray || !looksLikeRow(cells);
      this.names = this.hasHeader ? headerNames(this.file, cells) : cells.map((_, i) => `column ${i + 1}`);
      this.columns = this.names.map(() => new TextCollector());
      if (this.hasHeader) return;
    }
    const reason = stray
      ? 'a quotation mark opens in this line and never closes'
      : widthFault(cells, this.names.length, this.hasHeader ? 'the header' : 'the first row');
    if (reason === null) this.broken.endRun();
    else if (!this.broken.keeps(this.lines.length, line + skippedLines, { cells, reason, stray })) return;
    this.lines.push(line + skippedLines);
    this.columns.forEach((column, i) => {
      column.push(reason ? '' : (cells[i] ?? ''));
    });
  }

  /** Rows as the quick way hands them on: whole cells, or a line of the right width to take apart. */
  sink(skippedLines: number): LineSink {
    return {
      width: () => this.names?.length ?? 0,
      record: (cells, line) => this.take({ cells, line, stray: false }, skippedLines),
      plain: (rows) => {
        this.broken.endRun();
        for (let row = 0; row < rows.count; row++)
          this.lines.push((rows.lines[row] as number) + skippedLines);
        this.columns.forEach((column, k) => {
          column.take(rows, k);
        });
      },
    };
  }

  done(encoding: Source['encoding'], dialect: Dialect | null): Source {
    const names = this.names;
    if (!names) {
      throw new IntakeRefusal(this.file, 'empty', `${this.file} is empty; choose a file with visits in it.`);
    }
    if (this.lines.length === 0) {
      const sentence = `${this.file} has a header but no rows below it; export it again with its rows.`;
      throw new IntakeRefusal(this.file, 'no-rows', sentence);
    }
    return {
      file: this.file,
      format: 'delimited',
      encoding,
      delimiter: dialect?.delimiter ?? null,
      hasHeader: this.hasHeader,
      titles: dialect?.titles.filter((line) => line.trim() !== '') ?? [],
      columns: this.columns.map((column, i) => column.done(names[i] as string)),
      rowCount: this.lines.length,
      lines: this.lines.done(),
      broken: this.broken.kept,
      brokenRuns: this.broken.done(),
    };
  }
}

/** Extra cells that are all blank (a trailing separator) do no harm. */
function widthFault(cells: readonly string[], width: number, where: string): string | null {
  if (cells.length < width) return `too few cells: ${cells.length} where ${where} has ${width}`;
  return cells.slice(width).some((cell) => cell.trim() !== '')
    ? `too many cells: ${cells.length} where ${where} has ${width}`
    : null;
}
