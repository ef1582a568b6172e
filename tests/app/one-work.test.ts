import { signal } from '@preact/signals';
import { expect, test } from 'vitest';
import type { Busy } from '../../src/app/app-state.ts';
import { makeOneWork } from '../../src/app/one-work.ts';

/** A promise and the way to keep it. */
function gate() {
  let open = (): void => undefined;
  const opened = new Promise<void>((resolve) => {
    open = resolve;
  });
  return { open, opened };
}

function bench() {
  const busy = signal<Busy | null>(null);
  const trouble = signal<string | null>(null);
  return { busy, trouble, work: makeOneWork(busy, trouble, async () => undefined) };
}

const rest = () => new Promise((resolve) => setTimeout(resolve, 2));

test('what an older piece must not leave half done ends before a newer one begins', async () => {
  const { work } = bench();
  const { open, opened } = gate();
  const steps: string[] = [];
  const older = work.run('older', (_options, unbroken) =>
    unbroken(async () => {
      steps.push('older begun');
      await opened;
      steps.push('older done');
      return 'older';
    }),
  );
  await rest();
  const newer = work.run('newer', async () => {
    steps.push('newer');
    return 'newer';
  });
  await rest();
  expect(steps).toEqual(['older begun']);
  open();
  expect(await Promise.all([older, newer])).toEqual(['older', 'newer']);
  expect(steps).toEqual(['older begun', 'older done', 'newer']);
});

test('an older piece that a newer one has overtaken leaves its unbroken part undone, without a word', async () => {
  const { work, trouble } = bench();
  const { open, opened } = gate();
  const steps: string[] = [];
  const older = work.run('older', async (_options, unbroken) => {
    await opened;
    return unbroken(async () => steps.push('older'));
  });
  await rest();
  const newer = work.run('newer', async () => steps.push('newer'));
  await newer;
  open();
  expect(await older).toBeNull();
  expect(steps).toEqual(['newer']);
  expect(trouble.value).toBeNull();
});

test('a piece that fails says why; what was stopped by hand does not, and nothing is under way after it', async () => {
  const { work, trouble, busy } = bench();
  await work.run('fails', async () => {
    throw new Error('no hay');
  });
  expect(trouble.value).toBe('no hay');
  const stopped = work.run(
    'stopped',
    ({ signal: stop }) =>
      new Promise((_resolve, reject) => stop.addEventListener('abort', () => reject(stop.reason))),
  );
  await rest();
  expect(work.isUnderWay()).toBe(true);
  busy.value?.cancel?.();
  expect(await stopped).toBeNull();
  expect([trouble.value, busy.value, work.isUnderWay()]).toEqual([null, null, false]);
});
