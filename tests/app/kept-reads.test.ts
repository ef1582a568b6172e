import { afterEach, beforeEach, expect, test } from 'vitest';
import { countHerd } from '../../src/analyses/load-herd.ts';
import { intakeDesk } from '../../src/app/intake-desk.ts';
import { dayFromIso } from '../../src/core/civil-day.ts';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';

const TODAY = dayFromIso('2026-03-09')!;
const HEAD = 'horse_id,visit_date,foot,toe_before_mm\n';
const FIRST = `${HEAD}Ada,2025-01-06,LF,90\nAda,2025-02-17,LF,long\nAda,2025-03-31,LF,92\n`;
// The last row says otherwise than the first file.
const SECOND = `${HEAD}Bo,2025-01-06,RH,85\nAda,2025-03-31,LF,70\n`;
const context = { signal: new AbortController().signal, progress: () => undefined };

let engine: Engine;
beforeEach(async () => {
  engine = await openNodeEngine();
});
afterEach(() => engine.close());

/** Both files, one after the other, and what is told of them; `reads` counts how often a file is read once more. */
async function both(isHeavy: boolean) {
  const desk = intakeDesk(engine, TODAY, () => isHeavy);
  let reads = 0;
  const admit = async (name: string, text: string, add: boolean) => {
    const bytes = new TextEncoder().encode(text);
    const file = new Blob([bytes]);
    const whole = file.arrayBuffer.bind(file);
    file.arrayBuffer = () => {
      reads += 1;
      return whole();
    };
    const { inspections } = await desk.inspect({ files: [{ name, bytes, file }], remembered: [] }, context);
    const files = inspections.map(({ mapping }) => ({ file: name, mapping }));
    return desk.admit({ files, add, hemisphere: 'north' }, context);
  };
  const cells = (line: number) => desk.setAsideCells({ file: 'a.csv', line, foot: 'LF' }, context);
  const first = await admit('a.csv', FIRST, false);
  const afterFirst = [await cells(3), await cells(4)];
  const second = await admit('b.csv', SECOND, true);
  return {
    told: [first, second].map(({ books, setAside }) => ({ books, setAside: rowsOf(setAside) })),
    counts: await countHerd(engine),
    cells: [...afterFirst, await cells(3), await cells(4)],
    reads,
  };
}

test('files that are read again where they are wanted tell the same as files that are kept', async () => {
  const kept = await both(false);
  expect(kept.reads).toBe(0);
  expect(kept.told[1]!.setAside.length).toBeGreaterThan(1);
  const light = await both(true);
  expect(light.reads).toBe(1);
  const [wrong, , , differing] = light.cells;
  expect(wrong).toMatchObject({ horse_id: 'Ada', toe_before_mm: 'long' });
  expect(differing).toMatchObject({ horse_id: 'Ada', toe_before_mm: '92' });
  // Of rows that were not set aside nothing is asked.
  expect({ ...light, reads: 0, cells: light.cells.toSpliced(1, 1) }).toEqual({
    ...kept,
    cells: kept.cells.toSpliced(1, 1),
  });
});

test('a file that is gone when it is wanted once more is named, and what stands stays', async () => {
  const desk = intakeDesk(engine, TODAY, () => true);
  const open = async (name: string, text: string) => {
    const bytes = new TextEncoder().encode(text);
    const file = new Blob([bytes]);
    const { inspections } = await desk.inspect({ files: [{ name, bytes, file }], remembered: [] }, context);
    return { file, files: inspections.map(({ mapping }) => ({ file: name, mapping })) };
  };
  const first = await open('a.csv', FIRST);
  await desk.admit({ files: first.files, add: false, hemisphere: 'north' }, context);
  first.file.arrayBuffer = () => Promise.reject(new DOMException('', 'NotReadableError'));
  const second = await open('b.csv', SECOND);
  await expect(desk.admit({ files: second.files, add: true, hemisphere: 'north' }, context)).rejects.toThrow(
    'a.csv can no longer be read',
  );
  expect((await countHerd(engine)).footVisits).toBe(2);
});
