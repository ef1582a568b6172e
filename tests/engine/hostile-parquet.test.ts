import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { makeTable, numberColumn, rowsOf, textColumn } from '../../src/core/table.ts';
import { initParquet, readParquet, writeParquet } from '../../src/engine/parquet.ts';

const wasm = new URL('../../node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', import.meta.url);

/** A footer of noise of the length it says it has: the codec panics on it, in a microtask of its own. */
function panicking(): Uint8Array {
  const inside = Uint8Array.from({ length: 400 }, (_, i) => (i * i * 37 + i * 11) % 256);
  const mark = new TextEncoder().encode('PAR1');
  const length = new Uint8Array(new Uint32Array([2 ** 31 - 1]).buffer);
  return Uint8Array.from([...mark, ...inside, ...length, ...mark]);
}

/** Rows, or the error that reading ends in. */
async function read(bytes: Uint8Array): Promise<unknown> {
  try {
    const rows = [];
    for await (const { table } of readParquet(bytes)) rows.push(...rowsOf(table));
    return rows;
  } catch (error) {
    return error;
  }
}

describe('a codec that panics', () => {
  const table = makeTable({ horse_id: textColumn(['a', 'b', null]), toe: numberColumn([80, 81.5, null]) });
  let good: Uint8Array;
  beforeAll(async () => {
    await initParquet(readFileSync(wasm));
    good = await writeParquet(table);
  });

  it('is told as an error, and reads the next file as ever', async () => {
    const traps = [];
    for (let byte = 4; byte < good.length; byte++) {
      const bytes = good.slice();
      bytes[byte] = (bytes[byte] as number) ^ 0x40;
      const outcome = await read(bytes);
      if (outcome instanceof WebAssembly.RuntimeError) traps.push(byte);
      else
        expect(Array.isArray(outcome) || outcome instanceof Error || typeof outcome === 'string').toBe(true);
    }
    // Some bytes of this file do make it panic, so that the test is of that.
    expect(traps.length).toBeGreaterThan(0);
    expect(await read(good)).toEqual(rowsOf(table));
  });

  it('leaves the queue of microtasks as it was', async () => {
    const before = globalThis.queueMicrotask;
    await read(panicking());
    await read(good);
    expect(globalThis.queueMicrotask).toBe(before);
  });

  it('does not keep one file waiting for another’s panic', async () => {
    const [bad, sound] = await Promise.all([read(panicking()), read(good)]);
    expect(Array.isArray(bad)).toBe(false);
    // Read alone it is sound; beside a file that panics it may be refused, but never waits.
    expect(sound === undefined).toBe(false);
    expect(await read(good)).toEqual(rowsOf(table));
  });
});
