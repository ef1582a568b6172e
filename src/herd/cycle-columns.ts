import { FOOT_VISIT } from './dictionary.ts';
import { PROBLEMS } from './problems.ts';

/** How a column of a relation is shown to people. */
interface ShownColumn {
  readonly name: string;
  readonly label: string;
  readonly unit?: string;
  readonly digits?: number;
  readonly ungrouped?: true;
}

const UNIT_WORDS: Record<string, string> = { mm: 'mm', deg: '°', kg: 'kg' };

function fromDictionary(name: string): ShownColumn {
  const described = FOOT_VISIT.find((column) => column.name === name);
  if (!described) throw new Error(`the data dictionary has no column ${name}`);
  const unit = described.unit ? UNIT_WORDS[described.unit] : undefined;
  const digits = described.kind === 'length' || described.kind === 'angle' ? 1 : 0;
  const ungrouped = described.kind === 'year' ? { ungrouped: true as const } : {};
  return { name, label: described.label, digits, ...(unit ? { unit } : {}), ...ungrouped };
}

/** `foot_visit` as it is shown when its rows are opened. */
export const FOOT_VISIT_SHOWN: readonly ShownColumn[] = [
  ...['horse_id', 'visit_date', 'foot', 'horse_name', 'client_id', 'practitioner_id'].map(fromDictionary),
  ...FOOT_VISIT.map((column) => column.name)
    .filter(
      (name) =>
        !['horse_id', 'visit_date', 'foot', 'horse_name', 'client_id', 'practitioner_id'].includes(name),
    )
    .map(fromDictionary),
  { name: 'source_file', label: 'File' },
  { name: 'source_line', label: 'Line', digits: 0 },
];

/** `trim_cycle` as it is shown when its rows are opened. */
const TRIM_CYCLE_SHOWN: readonly ShownColumn[] = [
  fromDictionary('horse_id'),
  fromDictionary('foot'),
  { name: 'visit_date', label: 'Trimmed on' },
  { name: 'next_date', label: 'Next visit' },
  { name: 'days', label: 'Days between', unit: 'd', digits: 0 },
  fromDictionary('horse_name'),
  fromDictionary('client_id'),
  fromDictionary('breed_type'),
  { name: 'terrain', label: 'Ground' },
  { name: 'moisture', label: 'Moisture' },
  { name: 'season', label: 'Season' },
  { name: 'toe_after_mm', label: 'Toe after trim', unit: 'mm', digits: 1 },
  { name: 'toe_before_next_mm', label: 'Toe at next visit', unit: 'mm', digits: 1 },
  { name: 'toe_regrowth_mm', label: 'Toe regrowth', unit: 'mm', digits: 1 },
  { name: 'gross_growth_mm', label: 'Gross growth by a mark', unit: 'mm', digits: 1 },
  ...PROBLEMS.flatMap(({ key, label }) => [
    { name: `${key}_start`, label: `${label[0]?.toUpperCase()}${label.slice(1)} at the trim` },
    { name: `${key}_end`, label: `${label[0]?.toUpperCase()}${label.slice(1)} at next visit` },
  ]),
  { name: 'separation_site', label: 'Where the separation is' },
  { name: 'separation_to_white_line_mm', label: 'Separation to the white line', unit: 'mm', digits: 1 },
  { name: 'separation_height_mm', label: 'Separation height at the trim', unit: 'mm', digits: 1 },
  { name: 'separation_height_next_mm', label: 'Separation height at next visit', unit: 'mm', digits: 1 },
  { name: 'relief', label: 'Relief' },
  { name: 'wall_broken_next', label: 'Wall broken away by next visit' },
  { name: 'crack_origin', label: 'Where the crack starts' },
  { name: 'coronet_injury', label: 'Coronet injury at the trim' },
  { name: 'protection', label: 'Protection' },
  { name: 'flag', label: 'Flag' },
  { name: 'source_file', label: 'File' },
  { name: 'source_line', label: 'Line', digits: 0 },
];

/** `spell` as it is shown when its rows are opened. */
const SPELL_SHOWN: readonly ShownColumn[] = [
  fromDictionary('horse_id'),
  fromDictionary('foot'),
  { name: 'problem', label: 'Problem' },
  { name: 'present', label: 'Present' },
  { name: 'previous_seen', label: 'Last visit before' },
  { name: 'first_seen', label: 'First seen so' },
  { name: 'last_seen', label: 'Last seen so' },
  { name: 'next_seen', label: 'Seen otherwise on' },
  { name: 'visits', label: 'Visits', digits: 0 },
  fromDictionary('horse_name'),
  fromDictionary('client_id'),
  fromDictionary('breed_type'),
  { name: 'terrain', label: 'Ground' },
  { name: 'moisture', label: 'Moisture' },
  { name: 'season', label: 'Season' },
];

export const SHOWN = {
  foot_visit: FOOT_VISIT_SHOWN,
  trim_cycle: TRIM_CYCLE_SHOWN,
  spell: SPELL_SHOWN,
} as const;
