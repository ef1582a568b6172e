import { expect, it } from 'vitest';
import { mappingGaps } from '../../src/intake/mapping-gaps.ts';
import { mappingOf } from './admit.ts';

const gaps = async (headers: string): Promise<string[]> =>
  mappingGaps(await mappingOf(`${headers}\n${headers.replace(/[^,]+/g, 'x')}\n`));

it('what the pages will lack for want of a column is told before the rows are read', async () => {
  expect(await gaps('horse,date,foot,Colour')).toEqual([
    'No toe length was found: growth will have nothing to show.',
    'No grade of a problem was found: return of problems and trim interval will have nothing to show.',
  ]);
  expect(await gaps('horse,date,foot,toe,thrush,separation,wld')).toEqual([
    'No toe length after the trim was found: growth needs it before and after, and will have nothing to show.',
  ]);
  expect(await gaps('horse,date,foot,toe,toe after,thrush')).toEqual([
    'No grade of separation or wall infection was found: the pages will have nothing to show about them.',
  ]);
  expect(await gaps('horse,date,foot,toe,toe after,thrush,separation,wld')).toEqual([]);
  expect(await gaps('horse,breed,born')).toEqual([]);
});
