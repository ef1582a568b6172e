import { makeTable, numberColumn, numbers, type Table, textColumn, texts } from '../../core/table.ts';
import type { ResultTable } from '../analysis.ts';

/** How a foot stands to the advice, those to look at first in front. */
export const STANDINGS = [
  'protect, but left bare',
  'may stay bare, but left protected',
  'not enough recorded to say',
  'what it left in is not recorded',
  'left as your rule says',
] as const;

/** Each foot's advice and what it left in, where they differ first. */
export function latestTable(latest: Table): ResultTable {
  return {
    name: 'today',
    title: 'Each foot as last seen, by your rule',
    relation: 'foot_visit',
    columns: [
      { name: 'standing', label: 'How it stands' },
      { name: 'horse', label: 'Horse' },
      { name: 'foot', label: 'Foot' },
      { name: 'client_id', label: 'Client' },
      { name: 'visit_date', label: 'Seen on' },
      { name: 'advice', label: 'By your rule' },
      { name: 'left_in', label: 'Left in' },
      { name: 'breed_type', label: 'Breed type' },
      { name: 'terrain', label: 'Ground' },
      { name: 'moisture', label: 'Moisture' },
      { name: 'sole_depth_mm', label: 'Sole depth', unit: 'mm', digits: 1 },
      { name: 'sensitivity', label: 'Tenderness grade', digits: 0 },
      { name: 'missing', label: 'Not recorded' },
    ],
    table: latest,
  };
}

export interface Standing {
  readonly standing: (typeof STANDINGS)[number];
  readonly feet: number;
  readonly horses: number;
}

/** Feet and horses by how they stand, those without any left out. */
export function standings(latest: Table): Standing[] {
  const place = numbers(latest, 'place');
  const horse = texts(latest, 'horse_id');
  const horses = STANDINGS.map(() => new Set<string | null>());
  const feet = STANDINGS.map(() => 0);
  place.forEach((k, row) => {
    feet[k]! += 1;
    horses[k]!.add(horse[row]!);
  });
  return STANDINGS.map((standing, k) => ({ standing, feet: feet[k]!, horses: horses[k]!.size })).filter(
    (each) => each.feet > 0,
  );
}

export function standingTable(latest: Table): ResultTable {
  const rows = standings(latest);
  const horses = new Set(texts(latest, 'horse_id')).size;
  const all = { standing: 'all feet as last seen', feet: latest.rowCount, horses };
  const told = latest.rowCount > 0 ? [...rows, all] : [];
  return {
    name: 'standing',
    title: 'Feet as last seen, by how they stand',
    relation: 'foot_visit',
    columns: [
      { name: 'standing', label: 'How they stand' },
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_horses', label: 'Horses', digits: 0 },
    ],
    table: makeTable({
      standing: textColumn(told.map((row) => row.standing)),
      n_feet: numberColumn(told.map((row) => row.feet)),
      n_horses: numberColumn(told.map((row) => row.horses)),
    }),
  };
}
