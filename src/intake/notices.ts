import { type Table, texts } from '../core/table.ts';
import { breedTypeOf } from '../herd/breed-table.ts';
import { plainWords } from '../herd/plain.ts';

/** Worth knowing about the admitted rows, though nothing is lost: a sentence each. */
export function noticesOf(visits: Table, horses: Table): string[] {
  const notices: string[] = [];
  const known = new Set(valuesIn(horses, 'horse_id'));
  const seen = new Set(valuesIn(visits, 'horse_id'));
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
  const breeds = new Set([...valuesIn(visits, 'breed'), ...valuesIn(horses, 'breed')]);
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

function valuesIn(table: Table, name: string): string[] {
  if (!(name in table.columns)) return [];
  return [...new Set(texts(table, name))].filter((value) => value !== null);
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
