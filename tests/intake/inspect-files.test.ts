import { expect, it } from 'vitest';
import { inspectFiles } from '../../src/intake/open.ts';
import { bytesOf } from './admit.ts';

const good = (name: string) => ({ name, bytes: bytesOf('horse,date,foot\na,2026-03-09,LF\n') });
const picture = { name: 'photo.jpg', bytes: Uint8Array.of(0xff, 0xd8, 0xff, 0xe0, 1, 2, 3) };

it('several files: the good ones are read, a bad one is named with its reason', async () => {
  const seen: [number, string][] = [];
  const { inspections, refusals } = await inspectFiles([good('one.csv'), picture, good('two.csv')], {
    progress: (fraction, file) => seen.push([fraction, file]),
  });
  expect(inspections.map((one) => [one.source.file, one.rowCount])).toEqual([
    ['one.csv', 1],
    ['two.csv', 1],
  ]);
  expect(refusals).toEqual([
    {
      file: 'photo.jpg',
      reason: 'picture',
      sentence: 'photo.jpg is a picture, not a table of visits; export the records as CSV.',
    },
  ]);
  expect(seen.map(([fraction]) => fraction)).toEqual(
    seen.map(([fraction]) => fraction).sort((a, b) => a - b),
  );
  expect(seen.at(-1)).toEqual([1, 'two.csv']);
});

it('a cancel is no refusal', async () => {
  const stop = new AbortController();
  const reading = inspectFiles([good('one.csv')], { signal: stop.signal, progress: () => stop.abort() });
  await expect(reading).rejects.toThrow(/abort/i);
});
