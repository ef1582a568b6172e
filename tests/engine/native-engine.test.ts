import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { makeTable, numberColumn, rowsOf } from '../../src/core/table.ts';
import { hasNativeEngine, openNativeEngine } from '../../src/engine/native-engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { literal } from '../../src/engine/sql-text.ts';
import { holdsToInterface } from './holds-to-interface.ts';

const folder = mkdtempSync(join(tmpdir(), 'growout-native-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const there = hasNativeEngine();
const unless = there ? '' : ' (left out: @duckdb/node-api is not installed)';

describe.skipIf(!there)(`the native engine${unless}`, () => {
  const beside = join(folder, 'beside.csv');
  writeFileSync(beside, 'a\n1\n');
  holdsToInterface(openNativeEngine, [
    'INSTALL spatial; LOAD spatial',
    `SELECT * FROM read_csv(${literal(beside)})`,
    `COPY (SELECT 1) TO ${literal(join(folder, 'out.csv'))}`,
    `ATTACH ${literal(join(folder, 'other.db'))}`,
    `SET allowed_directories = [${literal(folder)}]`,
  ]);

  test('is of the same version as the one of the browser', async () => {
    const [native, wasm] = await Promise.all([openNativeEngine(), openNodeEngine()]);
    expect(await native.version()).toBe(await wasm.version());
    await Promise.all([native.close(), wasm.close()]);
  });

  test('keeps a database on disk where it is asked to, and takes everything away at the end', async () => {
    const temporary = mkdtempSync(join(folder, 'temporary-'));
    const engine = await openNativeEngine({ temporary, onDisk: 'kept', memoryLimit: '200MB' });
    await engine.run("ATTACH IF NOT EXISTS ':memory:' AS kept");
    await engine.run('USE kept.main');
    await engine.fill('t', [makeTable({ n: numberColumn([1, 2]) }), makeTable({ n: numberColumn([3]) })]);
    const places = await engine.query("SELECT path FROM duckdb_databases() WHERE database_name = 'kept'");
    expect(rowsOf(places)).toEqual([{ path: expect.stringContaining(temporary) }]);
    expect(rowsOf(await engine.query('SELECT n FROM t ORDER BY n'))).toEqual([{ n: 1 }, { n: 2 }, { n: 3 }]);
    await engine.close();
    expect(readdirSync(temporary)).toEqual([]);
  });
});
