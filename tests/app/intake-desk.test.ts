import { afterAll, beforeAll, expect, test } from 'vitest';
import { countHerd } from '../../src/analyses/load-herd.ts';
import { intakeDesk } from '../../src/app/intake-desk.ts';
import { dayFromIso } from '../../src/core/civil-day.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';

const TODAY = dayFromIso('2026-03-09')!;
const CSV = 'horse_id,visit_date,foot,toe_before_mm\nAda,2025-01-06,LF,90\nAda,2025-02-17,LF,91\n';
let engine: Engine;

beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

/** Reads the file; `stopAt` is the stage at which Stop is pressed. */
async function read(desk: ReturnType<typeof intakeDesk>, stopAt: string | null) {
  const controller = new AbortController();
  const context = {
    signal: controller.signal,
    progress: (_fraction: number, stage: string) => {
      if (stage === stopAt) controller.abort(new DOMException('cancelled', 'AbortError'));
    },
  };
  const files = [{ name: 'round.csv', bytes: new TextEncoder().encode(CSV) }];
  const { inspections } = await desk.inspect({ files, remembered: [] }, context);
  const mapped = inspections.map(({ file, mapping }) => ({ file, mapping }));
  return desk.admit({ files: mapped, add: false, hemisphere: 'north' }, context);
}

test('a load that is stopped half way leaves what stood before: nothing, a blank record, or rows', async () => {
  const desk = intakeDesk(engine, TODAY);
  const context = { signal: new AbortController().signal, progress: () => undefined };
  await desk.startBlank({ hemisphere: 'south' }, context);
  await expect(read(desk, 'Loading the herd')).rejects.toMatchObject({ name: 'AbortError' });
  expect(await countHerd(engine)).toMatchObject({ horses: 0, visits: 0 });

  await read(desk, null);
  expect(await countHerd(engine)).toMatchObject({ horses: 1, visits: 2 });
  await expect(read(desk, 'Loading the herd')).rejects.toMatchObject({ name: 'AbortError' });
  expect(await countHerd(engine)).toMatchObject({ horses: 1, visits: 2 });
});
