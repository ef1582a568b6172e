import { breedTypeOf } from '../herd/breed-table.ts';
import type { ColumnName } from '../herd/dictionary.ts';
import { plainWords } from '../herd/plain.ts';

/** The different texts of a column, as they are first met. */
interface Different {
  different(name: ColumnName): readonly string[];
}

/** Worth knowing about the admitted rows, though nothing is lost: a sentence each. */
export function noticesOf(visits: Different, horses: Different): string[] {
  const notices: string[] = [];
  const known = new Set(horses.different('horse_id'));
  const seen = new Set(visits.different('horse_id'));
  const missing = known.size === 0 ? [] : [...seen].filter((id) => !known.has(id));
  if (missing.length > 0) {
    notices.push(
      `${count(missing.length, 'horse')} in the visits but not in the horses file: ${some(missing)}.`,
    );
  }
  const unseen = seen.size === 0 ? [] : [...known].filter((id) => !seen.has(id));
  if (unseen.length > 0) {
    notices.push(
      `${count(unseen.length, 'horse')} in the horses file without a visit that was admitted: ${some(unseen)}.`,
    );
  }
  for (const group of nearlySame([...new Set([...seen, ...known])])) {
    notices.push(`Read as different horses, though written almost alike: ${some(group)}.`);
  }
  const breeds = new Set([...visits.different('breed'), ...horses.different('breed')]);
  const untyped = [...breeds].filter((breed) => breedTypeOf(breed) === null);
  if (untyped.length > 0) {
    notices.push(`${count(untyped.length, 'breed')} of no known type, left without one: ${some(untyped)}.`);
  }
  return notices;
}

/** Names that differ only in case, accents, spaces or signs. */
function nearlySame(names: readonly string[]): string[][] {
  const groups = new Map<string, string[]>();
  for (const name of names) {
    const key = plainWords(name).replaceAll(' ', '') || name;
    groups.set(key, [...(groups.get(key) ?? []), name]);
  }
  return [...groups.values()].filter((group) => group.length > 1);
}

function count(n: number, noun: string): string {
  return `${n} ${noun}${n === 1 ? '' : 's'}`;
}

function some(names: readonly string[]): string {
  const shown = names
    .slice(0, 5)
    .map((name) => `“${name}”`)
    .join(', ');
  return names.length > 5 ? `${shown} and ${names.length - 5} more` : shown;
}
