import type { Unavailable } from '../core/outcome.ts';

/** What estimators call groups, spans and events, in the words of a herd whose groups are its horses. */
const WORDS: readonly (readonly [RegExp, string])[] = [
  [/groups of records/g, 'horses'],
  [/belong to one group/g, 'are of one horse'],
  [/comes from one group of records/g, 'comes from one horse'],
  [/the records of one group alone/g, 'the records of one horse alone'],
  [/how far groups differ/g, 'how far horses differ'],
];

/** The same refusal for people: `all records are of one horse, so how far horses differ cannot be judged.` */
export function inHorses<Why extends Unavailable>(why: Why): Why {
  return { ...why, sentence: WORDS.reduce((text, [said, plain]) => text.replace(said, plain), why.sentence) };
}
