import { largest } from '../cycle-columns.ts';
import type { WrittenVisits } from './readings.ts';

/**
 * Who wrote the row that follows a foot's row in the cohort: by the number of the row the place among the levels of
 * `reader`, −1 where nobody is named or no row follows. Rows of one foot and day have one name among them: the first of
 * them that is followed by a row with a writer tells for all.
 */
export function nextReaders({ visits, reader }: WrittenVisits): Int32Array {
  const { places, foot, day, given, order } = visits;
  const found = new Int32Array(largest(given) + 1).fill(-1);
  const after = (i: number): number => {
    const then = places[i + 1];
    return then !== undefined && foot[then] === foot[places[i]!] ? reader.codes[then]! : -1;
  };
  for (let i = 0; i < places.length; ) {
    const here = places[i]!;
    let [to, next] = [i, -1];
    for (; to < places.length && foot[places[to]!] === foot[here] && day[places[to]!] === day[here]; to++) {
      if (next < 0) next = after(to);
    }
    for (; i < to; i++) {
      const place = places[i]!;
      found[given[order ? order[place]! : place]!] = next;
    }
  }
  return found;
}
