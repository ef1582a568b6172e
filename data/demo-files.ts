import { spoil } from './bad-rows.ts';
import { type FootRow, HORSE_COLUMNS, VISIT_COLUMNS } from './foot-row.ts';
import { demoHerd } from './herd.ts';
import { FEET } from './truth.ts';
import { truthFile } from './truth-file.ts';
import { csvHeader, csvLine, textCells } from './write-csv.ts';
import { parquetBytes } from './write-parquet.ts';

/** The committed files by name, as bytes or text. The same on every run. */
export function demoFiles(): Record<string, string | Uint8Array> {
  const histories = demoHerd();
  const rows = histories.flatMap((history) => history.rows).sort(inFileOrder);
  const horses = histories.map((history) => history.horse.row);
  const { records, sound } = spoil(rows);

  let line = 2;
  let visitsCsv = csvHeader(VISIT_COLUMNS);
  for (const { cells, bad } of records) {
    const text = csvLine(cells);
    if (bad) bad.line = line;
    visitsCsv += text;
    line += text.split('\n').length - 1;
  }
  const horsesCsv =
    csvHeader(HORSE_COLUMNS) + horses.map((horse) => csvLine(textCells(horse, HORSE_COLUMNS))).join('');
  const badRows = records.flatMap(({ bad }) => (bad ? [bad] : []));
  const counts = { csvRecords: records.length, soundRows: sound.length, horses: horses.length };
  return {
    'demo-visits.csv': visitsCsv,
    'demo-horses.csv': horsesCsv,
    'demo-visits.parquet': parquetBytes(sound, VISIT_COLUMNS),
    'demo-horses.parquet': parquetBytes(horses, HORSE_COLUMNS),
    'truth.json': `${JSON.stringify(truthFile(histories, badRows, counts), null, 1)}\n`,
  };
}

function inFileOrder(a: FootRow, b: FootRow): number {
  return (
    a.visit_date - b.visit_date ||
    (a.horse_id < b.horse_id ? -1 : a.horse_id > b.horse_id ? 1 : 0) ||
    FEET.indexOf(a.foot) - FEET.indexOf(b.foot)
  );
}
