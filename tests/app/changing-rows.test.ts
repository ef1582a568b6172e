import { expect, test } from 'vitest';
import { makeMemory } from '../../src/analyses/memory.ts';
import { changingRows } from '../../src/app/changing-rows.ts';
import { makeQueue } from '../../src/engine/in-turn.ts';

test('one load of rows ends before another change of rows begins; looking does not wait', async () => {
  const steps: string[] = [];
  let open = (): void => undefined;
  const opened = new Promise<void>((resolve) => {
    open = resolve;
  });
  const desk = changingRows(makeMemory(), makeQueue(), {
    async admit() {
      steps.push('admit begun');
      await opened;
      steps.push('admit done');
      return null as never;
    },
    async setDerivedColumns() {
      steps.push('columns');
      return null as never;
    },
    async sheetColumns() {
      steps.push('looked');
      return [];
    },
  });
  const first = desk.admit();
  const second = desk.setDerivedColumns();
  await desk.sheetColumns();
  expect(steps).toEqual(['admit begun', 'looked']);
  open();
  await Promise.all([first, second]);
  expect(steps).toEqual(['admit begun', 'looked', 'admit done', 'columns']);
});
