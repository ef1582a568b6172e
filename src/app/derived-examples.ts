import type { DerivedColumn } from '../sheet/derived-column.ts';

/** Worked examples in the trade's terms, to take as they are or to change. */
export const DERIVED_EXAMPLES: readonly (DerivedColumn & { readonly says: string })[] = [
  {
    name: 'toe_heel_ratio',
    label: 'Toe to heel',
    expression: 'toe_after_mm / heel_after_mm',
    on: 'foot_visit',
    digits: 2,
    says: 'How many times as long as the heel the toe is, after the trim.',
  },
  {
    name: 'days_since_trim',
    label: 'Days since last trim',
    expression: 'visit_date - lag(visit_date) OVER (PARTITION BY horse_id, foot ORDER BY visit_date)',
    on: 'foot_visit',
    unit: 'd',
    digits: 0,
    says: 'Days from the visit before to this one, of the same foot.',
  },
  {
    name: 'angle_gap',
    label: 'Angle gap to the new growth',
    expression: 'new_growth_angle_deg - angle_after_deg',
    on: 'foot_visit',
    unit: '°',
    digits: 1,
    says: 'How much steeper the new growth stands than the toe.',
  },
  {
    name: 'took_off_mm',
    label: 'Toe taken off',
    expression: 'toe_before_mm - toe_after_mm',
    on: 'foot_visit',
    unit: 'mm',
    digits: 1,
    says: 'What the trim took off the toe.',
  },
  {
    name: 'size_class',
    label: 'Size of horse',
    expression:
      "CASE WHEN body_mass_kg >= 600 THEN 'heavy' WHEN body_mass_kg >= 300 THEN 'middling' ELSE 'small' END",
    on: 'foot_visit',
    says: 'A group by body mass, to compare by.',
  },
];

/** A name for SQL made from a label: `Toe to heel` gives `toe_to_heel`. */
export function nameFromLabel(label: string): string {
  const plain = label
    .normalize('NFKD')
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '_')
    .replaceAll(/^_+|_+$/g, '');
  return /^\d/.test(plain) ? `c_${plain}` : plain.slice(0, 60);
}
