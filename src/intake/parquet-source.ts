import { pacer } from '../core/pacing.ts';
import type { CellTable } from '../engine/cells.ts';
import { readParquetCells } from '../engine/parquet.ts';
import { CellCollector } from './collect-cells.ts';
import { headerNames } from './header-names.ts';
import { IntakeRefusal } from './refusal.ts';
import type { OpenOptions, Source, SourceColumn } from './source.ts';

interface Collected {
  readonly name: string;
  readonly type: SourceColumn['type'];
  readonly collector: CellCollector;
}

/** Reads a Parquet file (its codec initialised by the app). Throws `IntakeRefusal`; a row's line is its number. */
export async function openParquet(
  file: string,
  bytes: Uint8Array,
  options: OpenOptions = {},
): Promise<Source> {
  const pause = pacer(options.signal);
  let collected: Collected[] = [];
  let rowCount = 0;
  const take = ({ rowCount: count, columns }: CellTable, expected: number): void => {
    if (collected.length === 0) {
      const names = headerNames(
        file,
        columns.map(({ name }) => name),
      );
      collected = columns.map(({ cells }, i) => ({
        name: names[i] as string,
        type: cells.type,
        collector: new CellCollector(expected),
      }));
    }
    for (const [i, { collector }] of collected.entries()) {
      const column = columns[i];
      if (column) collector.take(column.cells, count);
    }
  };
  for await (const step of steps(file, bytes, take)) {
    rowCount = step.rowsRead;
    options.progress?.(step.rowCount === 0 ? 1 : step.rowsRead / step.rowCount);
    await pause();
  }
  if (rowCount === 0)
    throw new IntakeRefusal(
      file,
      'no-rows',
      `${file} has columns but no rows; export it again with its rows.`,
    );
  return {
    file,
    format: 'parquet',
    encoding: null,
    delimiter: null,
    hasHeader: true,
    titles: [],
    columns: collected.map(({ name, type, collector }) => collector.done(name, type)),
    rowCount,
    lines: numbered(rowCount),
    broken: new Map(),
    brokenRuns: [],
  };
}

function numbered(rowCount: number): Int32Array {
  const lines = new Int32Array(rowCount);
  for (let row = 0; row < rowCount; row++) lines[row] = row + 1;
  return lines;
}

async function* steps(
  file: string,
  ...given: Parameters<typeof readParquetCells>
): ReturnType<typeof readParquetCells> {
  try {
    yield* readParquetCells(...given);
  } catch (error) {
    if (error instanceof IntakeRefusal) throw error;
    const message = error instanceof Error ? error.message : String(error);
    if (/must be initialised/.test(message)) throw error;
    const column = /^column (.+?) has a type/.exec(message)?.[1];
    if (column !== undefined) {
      const sentence = `${file}: the column “${column}” is of a type that cannot be read; export it as text, a number or a date.`;
      throw new IntakeRefusal(file, 'unreadable-column', sentence);
    }
    throw new IntakeRefusal(
      file,
      'unreadable-parquet',
      `${file} is a damaged Parquet file; export or copy it again.`,
    );
  }
}
