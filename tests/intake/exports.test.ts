import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { cellAt, numbers, rowsOf, type Table, texts } from '../../src/core/table.ts';
import { initParquet } from '../../src/engine/parquet.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { admit } from './admit.ts';
import { messyExport, wideExport, windows1252 } from './messy.ts';

const root = new URL('../../', import.meta.url);
const file = (path: string): { name: string; text: Uint8Array } => ({
  name: path.replace(/.*\//, ''),
  text: new Uint8Array(readFileSync(new URL(path, root))),
});

describe('a messy export', () => {
  const made = messyExport();
  const committed = file('tests/fixtures/messy-export.csv');

  it('is the committed fixture, byte for byte', () => {
    expect(committed.text).toEqual(windows1252(made.text));
  });

  it('is understood without help', async () => {
    const { source, mapping } = await inspectFile({ name: committed.name, bytes: committed.text });
    expect([source.encoding?.encoding, source.delimiter?.delimiter]).toEqual(['windows-1252', ';']);
    expect([mapping.kind, mapping.dateOrder, mapping.decimal]).toEqual(['visits', 'day-first', 'comma']);
    expect(mapping.columns.filter((c) => c.target === null).map((c) => c.source)).toEqual(['Colour']);
    expect(mapping.columns.filter((c) => c.warning !== null)).toEqual([]);
  });

  it('loses exactly its bad rows, one in fifty, each with its line and reason', async () => {
    const { admitted, setAside, report } = await admit([committed]);
    expect(made.bad.length).toBe(made.rows / 50);
    expect(report).toMatchObject({ rowsRead: made.rows, setAside: made.bad.length, identityHolds: true });
    expect(admitted.rowCount).toBe(made.rows - made.bad.length);
    const found = rowsOf(setAside);
    made.bad.forEach(({ line, reason }, i) => {
      expect(found[i]?.line).toBe(line);
      expect(String(found[i]?.reason)).toMatch(reason);
    });
  });

  it('is read as it was written', async () => {
    const { admitted } = await admit([committed]);
    expect(new Set(texts(admitted, 'horse_id'))).toContain('Flöckchen');
    // Line 2: Zoé;…;15/03/25;near fore;"3-1/8""";…;52,9;13,1;++;+
    expect(rowsOf(admitted).find((row) => row.source_line === 2)).toMatchObject({
      horse_id: 'Zoé',
      foot: 'LF',
      visit_date: 20_162, // 2025-03-15
      toe_before_mm: 79.375, // 3 1/8 × 25.4
      angle_before_deg: 52.9,
      sole_depth_mm: 13.1,
      fungal_frog_grade: 2,
      separation_grade: 1,
      terrain: 'soft',
      protection: 'boot',
      antifungal: true,
      source_line: 2,
    });
  });
});

describe('a wide export', () => {
  it('makes one row for each foot seen, in mm', async () => {
    const made = wideExport();
    const committed = file('tests/fixtures/wide-export.csv');
    expect(new TextDecoder().decode(committed.text)).toBe(made.text);
    const { admitted, report } = await admit([committed]);
    expect(report.files[0]).toMatchObject({
      sourceRows: made.rows,
      rowsRead: made.footRows,
      admitted: made.footRows,
      emptyFeet: made.emptyFeet,
    });
    expect(made.footRows + made.emptyFeet).toBe(4 * made.rows);
    for (const toe of numbers(admitted, 'toe_before_mm')) expect(toe > 70 && toe < 110).toBe(true);
  });
});

describe('the demo herd', () => {
  beforeAll(async () => {
    await initParquet(readFileSync(new URL('node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', root)));
  });

  it('loses exactly the bad rows its truth names', async () => {
    const truth = JSON.parse(readFileSync(new URL('data/truth.json', root), 'utf8'));
    const { setAside, report } = await admit([file('data/demo-visits.csv'), file('data/demo-horses.csv')]);
    expect(report.identityHolds).toBe(true);
    const bad: number[] = truth.badRows.map((row: { line: number }) => row.line);
    expect([...new Set(numbers(setAside, 'line'))]).toEqual([...bad].sort((a, b) => a - b));
  });

  it('is the same from Parquet as from CSV', async () => {
    const csv = await admit([file('data/demo-visits.csv'), file('data/demo-horses.csv')]);
    const parquet = await admit([file('data/demo-visits.parquet'), file('data/demo-horses.parquet')]);
    expect(parquet.report.setAside).toBe(0);
    for (const [a, b] of [
      [csv.admitted, parquet.admitted],
      [csv.horses, parquet.horses],
    ] as const) {
      expect(b.rowCount).toBe(a.rowCount);
      expect(sums(b)).toEqual(sums(a));
    }
  });
});

/** What a column holds, whatever the order of rows: its filled cells, and their sum or their distinct values. */
function sums(table: Table): Record<string, unknown> {
  const names = Object.keys(table.columns).filter((name) => !name.startsWith('source_'));
  return Object.fromEntries(
    names.map((name) => {
      const cells = Array.from({ length: table.rowCount }, (_, row) => cellAt(table, name, row)).filter(
        (c) => c !== null,
      );
      const numeric = cells.every((c) => typeof c === 'number');
      const told = numeric
        ? Math.round(cells.reduce<number>((sum, c) => sum + (c as number), 0) * 1000)
        : [...new Set(cells)].sort();
      return [name, [cells.length, told]];
    }),
  );
}
