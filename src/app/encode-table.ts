import type { Table } from '../core/table.ts';
import { encodeArrow } from '../engine/arrow.ts';
import { writeParquet } from '../engine/parquet.ts';
import { countDefused, csvPieces } from '../intake/csv-out.ts';
import { isBehindColumn } from '../pages/table-view.ts';
import type { TableFormat, TakenFile } from './herd-service.ts';

/** A table as a file: CSV (RFC 4180, UTF-8), Parquet (zstd) or an Arrow IPC stream. Columns that only open rows are left out. */
export async function encodeTable(whole: Table, format: TableFormat): Promise<TakenFile> {
  const columns = Object.fromEntries(Object.entries(whole.columns).filter(([name]) => !isBehindColumn(name)));
  const table: Table = { rowCount: whole.rowCount, columns };
  const bytes = await encoded(table, format);
  return {
    bytes: bytes as Uint8Array<ArrayBuffer>,
    rowCount: table.rowCount,
    defused: format === 'csv' ? countDefused(table) : 0,
  };
}

async function encoded(table: Table, format: TableFormat): Promise<Uint8Array> {
  if (format === 'parquet') return writeParquet(table);
  if (format === 'arrow') return encodeArrow(table);
  const pieces = Array.from(csvPieces(table), (text) => new TextEncoder().encode(text));
  const bytes = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.length, 0));
  let at = 0;
  for (const piece of pieces) {
    bytes.set(piece, at);
    at += piece.length;
  }
  return bytes;
}
