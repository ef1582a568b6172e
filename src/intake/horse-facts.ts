import { type Cell, type Column, cellAt, type Table, texts } from '../core/table.ts';
import { breedTypeOf } from '../herd/breed-table.ts';
import { HORSE_COLUMNS } from '../herd/dictionary.ts';

export interface Filled {
  readonly visits: Table;
  readonly horses: Table;
  readonly notices: readonly string[];
}

/**
 * What is known of a horse, on each of its visits: blanks in the visits are filled from the horses file, a blank
 * breed type from the breed. What the visit says itself is never overwritten.
 */
export function fillFromHorses(visits: Table, horses: Table): Filled {
  const unknownBreeds = new Set<string>();
  const typedHorses = withBreedTypes(horses, unknownBreeds);
  const rowOfHorse = new Map(texts(typedHorses, 'horse_id').map((id, row) => [id, row] as const));
  const columns: Record<string, Column> = { ...visits.columns };
  const ids = texts(visits, 'horse_id');
  if (rowOfHorse.size > 0) {
    for (const { name } of HORSE_COLUMNS) {
      if (name === 'horse_id') continue;
      const column = visits.columns[name] as Column;
      columns[name] = filled(column, (row) => {
        const horse = rowOfHorse.get(ids[row] ?? null);
        return horse === undefined ? null : cellAt(typedHorses, name, horse);
      });
    }
  }
  const typedVisits = withBreedTypes({ ...visits, columns }, unknownBreeds);
  const missing =
    rowOfHorse.size === 0 ? [] : [...new Set(ids)].filter((id) => id !== null && !rowOfHorse.has(id));
  const notices = [
    ...(missing.length > 0
      ? [`${count(missing.length, 'horse')} in the visits but not in the horses file: ${some(missing)}.`]
      : []),
    ...(unknownBreeds.size > 0
      ? [
          `${count(unknownBreeds.size, 'breed')} without a known type, left blank: ${some([...unknownBreeds])}.`,
        ]
      : []),
  ];
  return { visits: typedVisits, horses: typedHorses, notices };
}

function withBreedTypes(table: Table, unknown: Set<string>): Table {
  const breeds = texts(table, 'breed');
  const known = new Map<string, string | null>();
  const typeOf = (breed: string): string | null => {
    let type = known.get(breed);
    if (type === undefined) {
      type = breedTypeOf(breed);
      known.set(breed, type);
    }
    if (type === null) unknown.add(breed);
    return type;
  };
  const breedType = filled(table.columns.breed_type as Column, (row) => {
    const breed = breeds[row] ?? null;
    return breed === null ? null : typeOf(breed);
  });
  return { ...table, columns: { ...table.columns, breed_type: breedType } };
}

/** The column with its blanks filled where there is something to fill them with. */
function filled(column: Column, fill: (row: number) => Cell): Column {
  if (column.type === 'number' || column.type === 'day') {
    const values = column.values.map((v, row) => (Number.isNaN(v) ? Number(fill(row) ?? Number.NaN) : v));
    return { type: column.type, values };
  }
  if (column.type === 'text') {
    return { type: 'text', values: column.values.map((v, row) => v ?? (fill(row) as string | null)) };
  }
  return { type: 'boolean', values: column.values.map((v, row) => v ?? (fill(row) as boolean | null)) };
}

function count(n: number, noun: string): string {
  return `${n} ${noun}${n === 1 ? '' : 's'}`;
}

function some(names: readonly (string | null)[]): string {
  const shown = names.slice(0, 5).join(', ');
  return names.length > 5 ? `${shown} and ${names.length - 5} more` : shown;
}
