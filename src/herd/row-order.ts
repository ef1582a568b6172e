import { numbers, type Table, texts } from '../core/table.ts';
import { FEET } from './vocabularies.ts';

/** Horses in the order in which SQL sorts texts: by their UTF-8 bytes. */
export function byBytes(a: string, b: string): number {
  if (a === b) return 0;
  const shared = Math.min(a.length, b.length);
  for (let at = 0; at < shared; at++) {
    const [x, y] = [a.charCodeAt(at), b.charCodeAt(at)];
    if (x === y) continue;
    // A surrogate stands for a character beyond all others, though its own number is lower than some.
    const surrogates = Number(isSurrogate(x)) - Number(isSurrogate(y));
    return surrogates === 0 ? x - y : surrogates;
  }
  return a.length - b.length;
}

const isSurrogate = (code: number): boolean => code >= 0xd800 && code < 0xe000;

/** Whether foot rows come by horse, day and foot, no two of them alike in all three. */
export function isInOrder(visits: Table): boolean {
  // A herd without rows may come without columns.
  if (visits.rowCount === 0) return true;
  const horse = texts(visits, 'horse_id');
  const day = numbers(visits, 'visit_date');
  const foot = texts(visits, 'foot').map((name) => FEET.indexOf(name as (typeof FEET)[number]));
  for (let row = 1; row < visits.rowCount; row++) {
    const [before, now] = [horse[row - 1] as string, horse[row] as string];
    const order =
      (before === now ? 0 : byBytes(before, now)) ||
      (day[row - 1] as number) - (day[row] as number) ||
      (foot[row - 1] as number) - (foot[row] as number);
    if (!(order < 0)) return false;
  }
  return true;
}

/** The rows of a table by horse, day and foot, then where they came from. */
export function herdOrder(visits: Table): Int32Array {
  const horse = texts(visits, 'horse_id');
  const day = numbers(visits, 'visit_date');
  const foot = texts(visits, 'foot').map((name) => FEET.indexOf(name as (typeof FEET)[number]));
  const file = 'source_file' in visits.columns ? texts(visits, 'source_file') : [];
  const line = 'source_line' in visits.columns ? numbers(visits, 'source_line') : [];
  return Int32Array.from(foot.keys()).sort(
    (a, b) =>
      byBytes(horse[a] as string, horse[b] as string) ||
      (day[a] as number) - (day[b] as number) ||
      (foot[a] as number) - (foot[b] as number) ||
      byBytes(file[a] ?? '', file[b] ?? '') ||
      (line[a] ?? 0) - (line[b] ?? 0) ||
      a - b,
  );
}
