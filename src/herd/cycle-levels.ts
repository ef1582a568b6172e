import { CYCLE_ENUMERATIONS, enumeration, textsOf } from './kept-types.ts';
import { PASSED_OVER } from './passed-over.ts';

/** Cycles outside these limits are flagged: not a routine trim-to-trim interval (common practice 4–10 weeks). */
export const SHORTEST_CYCLE_DAYS = 7;
export const LONGEST_CYCLE_DAYS = 365;

/** Lengths of interval in their own order, not that of the alphabet. */
export const INTERVAL_BANDS = [
  'under 5 weeks',
  '5 weeks',
  '6 weeks',
  '7 weeks',
  '8 weeks',
  '9 weeks',
  '10 weeks and over',
] as const;

const DERIVED = {
  foot_end: ['fore', 'hind'],
  foot_side: ['left', 'right'],
  season: ['winter', 'spring', 'summer', 'autumn'],
  interval_band: INTERVAL_BANDS,
  flag: [
    'same day twice',
    `under ${SHORTEST_CYCLE_DAYS} days`,
    `over ${LONGEST_CYCLE_DAYS} days`,
    'toe shorter than after the trim',
    PASSED_OVER,
  ],
} as const;

type Derived = typeof DERIVED;

/** A level that is worked out, as `cycle_row` keeps it; a constant, so that no text is made in between. */
export const cycleLevel = <Name extends keyof Derived>(name: Name, level: Derived[Name][number]): string =>
  `'${level}'::${enumeration(DERIVED[name])}`;

/** What may be an enumeration in `cycle_row` as texts, for a `REPLACE`. */
export const CYCLE_TEXTS: string = textsOf([...CYCLE_ENUMERATIONS, ...Object.keys(DERIVED)]);
