import type { Behind, Finding } from './analysis.ts';
import { CAUTIONS } from './cautions.ts';
import { type Counts, horsesText } from './format.ts';
import { type Grouping, groupingName } from './groups.ts';

/** A group of fewer horses is shown, but never set against another in a sentence: one odd horse would be the group. */
export const FEWEST_COMPARED = 4;

interface Level {
  readonly level: string;
  readonly counts: Pick<Counts, 'horses'>;
}

export const isComparable = ({ horses }: Pick<Counts, 'horses'>): boolean => horses >= FEWEST_COMPARED;

/** The levels that a sentence may set against each other. */
export function comparable<L extends Level>(levels: readonly L[]): L[] {
  return levels.filter(({ counts }) => isComparable(counts));
}

/** Whether a level of the comparison, by its name, has enough horses; one that is not known has not. */
export function comparableLevels(levels: readonly Level[]): (level: string) => boolean {
  const enough = new Set(comparable(levels).map(({ level }) => level));
  return (level) => enough.has(level);
}

/** `Too few horses to compare, by breed type: donkey (2 horses) and pony (1 horse).` None where all have enough. */
export function fewHorses(by: Grouping, levels: readonly Level[], behind: Behind | null): Finding[] {
  const few = levels.filter(({ counts }) => !isComparable(counts));
  if (few.length === 0) return [];
  const named = few.slice(0, 6).map(({ level, counts }) => `${level} (${horsesText(counts.horses)})`);
  const more = few.length > named.length ? [`${few.length - named.length} more groups`] : [];
  const words = [...named, ...more];
  const listed = words.length < 2 ? words[0] : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
  return [
    {
      sentence: `Too few horses to compare, by ${groupingName(by)}: ${listed}.`,
      caution: CAUTIONS.small_numbers,
      behind,
    },
  ];
}
