import { allOf } from '../groups.ts';
import { alikeWhere, cyclesWhere, isAlike, isPlace, KNOWN, type ReliefRows } from './data.ts';
import { PLACES, type Place, type ReliefOptions } from './options.ts';

/** Which cycles are compared, and what is held alike among them. */
export type Scope = 'crude' | 'adjusted' | Place;

interface KnownOutcome {
  readonly key: keyof typeof KNOWN;
  /** Rows of which it is known. */
  known(rows: ReliefRows, row: number): boolean;
}

export const OUTCOMES: Readonly<Record<keyof typeof KNOWN, KnownOutcome>> = {
  height: {
    key: 'height',
    known: ({ height, heightNext }, row) => !Number.isNaN(height[row]) && !Number.isNaN(heightNext[row]),
  },
  still: {
    key: 'still',
    known: ({ height, heightNext, cleared }, row) =>
      !Number.isNaN(height[row]) && !Number.isNaN(heightNext[row]) && cleared[row] === 0,
  },
  cleared: { key: 'cleared', known: ({ cleared }, row) => !Number.isNaN(cleared[row]) },
  broken: { key: 'broken', known: ({ broken }, row) => !Number.isNaN(broken[row]) },
};

/** Places that some of the rows have, in order. */
export function placesIn({ place }: ReliefRows): Place[] {
  const seen = new Set(place.codes);
  return PLACES.filter((_, k) => seen.has(k));
}

interface Scoped {
  readonly scope: Scope;
  readonly keep: readonly number[];
  readonly where: string;
}

/** The rows of a scope of which an outcome is known, and the condition that selects them. */
export function scoped(
  rows: ReliefRows,
  options: ReliefOptions,
  scope: Scope,
  { key, known }: KnownOutcome,
): Scoped {
  const place = PLACES.indexOf(scope as Place);
  const inScope = (row: number): boolean =>
    scope === 'crude' || (scope === 'adjusted' ? isAlike(rows, row) : rows.place.codes[row] === place);
  const base =
    scope === 'crude'
      ? cyclesWhere(options)
      : scope === 'adjusted'
        ? alikeWhere(options)
        : allOf(cyclesWhere(options), isPlace(options, scope));
  const keep = Array.from(rows.days.keys()).filter((row) => inScope(row) && known(rows, row));
  return { scope, keep, where: allOf(base, KNOWN[key]) };
}
