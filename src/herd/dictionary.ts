import { afterTrim, beforeTrim, type ColumnDescription, column } from './column.ts';
import {
  BREED_TYPE_WORDS,
  BREED_TYPES,
  CRACK_ORIGIN_WORDS,
  CRACK_ORIGINS,
  FEET,
  FOOT_WORDS,
  MOISTURE_WORDS,
  MOISTURES,
  PROTECTION_WORDS,
  PROTECTIONS,
  RELIEF_WORDS,
  RELIEFS,
  SEPARATION_SITE_WORDS,
  SEPARATION_SITES,
  TERRAIN_WORDS,
  TERRAINS,
} from './vocabularies.ts';

// Headers in German, Dutch, French and Spanish, here and below, are common practice.
const TOE = [
  ...['toe', 'toe length', 'toe height', 'dorsal wall', 'dorsal wall length', 'hoof length'],
  ...['zehe', 'zehenlange', 'zehenwand'],
  ...['teen', 'teenlengte', 'toon', 'toonlengte'],
  ...['pince', 'longueur pince', 'longueur de pince', 'longueur en pince'],
  ...['pinza', 'largo pinza', 'largo de pinza', 'longitud de pinza', 'lumbre'],
];
const HEEL = [
  ...['heel', 'heel length', 'heel height', 'heels'],
  ...['tracht', 'trachte', 'trachten', 'trachtenhohe', 'trachtenlange'],
  ...['verzen', 'verzenen', 'verzenhoogte', 'hiel', 'hielen'],
  ...['talon', 'talons', 'hauteur talon', 'hauteur des talons'],
  ...['talones', 'altura talon', 'altura de talones'],
];
const ANGLE = [
  ...['angle', 'toe angle', 'hoof angle', 'dorsal angle', 'dorsal wall angle'],
  ...['winkel', 'hufwinkel', 'zehenwinkel'],
  ...['hoek', 'hoefhoek', 'teenhoek', 'toonhoek'],
  ...['angle de pince', 'angle du sabot', 'angle du pied'],
  ...['angulo', 'angulo de pinza', 'angulo del casco'],
];

/**
 * Every column of `foot_visit`, one row per foot per visit: the one place they are described.
 * Limits are common practice and deliberately wide (a Shetland foal to a Shire, a club foot to a collapsed one):
 * they catch slips of unit and of the finger, not unusual horses. For scale: dorsal wall 88.3 ± 11.9 mm and angle
 * 50.05 ± 2.21° before one trim of ten Dareh-Shori horses (IVSA journals 79374).
 */
export const FOOT_VISIT = [
  column('horse_id', 'text', 'horse', {
    label: 'Horse',
    required: true,
    note: 'The same text for the same horse in every file.',
    synonyms: [
      'horse id',
      'horse',
      'horse no',
      'horse number',
      'id',
      'animal',
      'animal id',
      'equid',
      'equine id',
      ...['patient id', 'patient no', 'patient number'],
      ...['pferd', 'paard', 'cheval', 'caballo'],
    ],
  }),
  column('horse_name', 'text', 'horse', {
    label: 'Horse name',
    synonyms: [
      'horse name',
      'name',
      'name of horse',
      'stable name',
      ...['patient', 'patient name', 'animal name'],
      'pferdename',
      'naam paard',
      'nom du cheval',
      'nombre',
    ],
  }),
  column('client_id', 'text', 'horse', {
    label: 'Client',
    note: 'A yard or an owner.',
    synonyms: [
      'client id',
      'client',
      'yard',
      'owner',
      'stable',
      'barn',
      'customer',
      'yard id',
      'owner id',
      'farm',
      ...[
        'client no',
        'client number',
        'owner no',
        'owner number',
        'owner name',
        'client name',
        'customer no',
      ],
      ...[
        'besitzer',
        'kunde',
        'stall',
        'eigenaar',
        'klant',
        'proprietaire',
        'ecurie',
        'propietario',
        'cliente',
      ],
    ],
  }),
  column('practitioner_id', 'text', 'visit', {
    label: 'Practitioner',
    synonyms: [
      'practitioner id',
      'practitioner',
      'trimmer',
      'trimmed by',
      'by',
      'seen by',
      'hoof care provider',
      ...['vet', 'veterinarian', 'farrier', 'clinician', 'examiner', 'examined by'],
    ],
  }),
  column('visit_date', 'day', 'visit', {
    label: 'Visit date',
    required: true,
    note: 'From 1980 to today.',
    synonyms: [
      'visit date',
      'date',
      'visit',
      'day',
      'date of visit',
      'trim date',
      'date of trim',
      'trimmed on',
      ...['exam date', 'examination date', 'examined', 'examined on', 'examined at', 'seen on', 'visited on'],
      ...['visit at', 'visited at', 'appointment date'],
      'datum',
      ...[
        'besuchsdatum',
        'bearbeitungsdatum',
        'bezoekdatum',
        'date de visite',
        'date du parage',
        'fecha',
        'fecha de visita',
      ],
    ],
  }),
  column('foot', 'level', 'foot', {
    label: 'Foot',
    required: true,
    levels: FEET,
    words: FOOT_WORDS,
    synonyms: ['foot', 'hoof', 'leg', 'limb', 'which foot', 'huf', 'hoef', 'pied', 'sabot', 'casco'],
  }),
  column('breed', 'text', 'horse', {
    label: 'Breed',
    note: 'Free text; mapped to breed type by a table.',
    synonyms: ['breed', 'race', 'rasse', 'ras', 'raza'],
  }),
  column('breed_type', 'level', 'horse', {
    label: 'Breed type',
    levels: BREED_TYPES,
    words: BREED_TYPE_WORDS,
    synonyms: ['breed type', 'type', 'breed group', 'type of horse', 'horse type'],
  }),
  column('birth_year', 'year', 'horse', {
    label: 'Year of birth',
    low: 1950,
    high: 2100,
    synonyms: ['birth year', 'year of birth', 'born', 'foaled', 'yob', 'year born', 'year foaled'],
  }),
  column('sex', 'text', 'horse', { label: 'Sex', synonyms: ['sex', 'gender'] }),
  column('body_mass_kg', 'mass', 'horse', {
    label: 'Body mass',
    low: 20,
    high: 1400,
    synonyms: ['body mass', 'weight', 'mass', 'body weight', 'bodyweight'],
  }),
  column('terrain', 'level', 'visit', {
    label: 'Ground',
    levels: TERRAINS,
    words: TERRAIN_WORDS,
    note: 'The ground the horse lives on since the last visit.',
    synonyms: ['terrain', 'ground', 'footing', 'surface', 'turnout', 'living ground'],
  }),
  column('moisture', 'level', 'visit', {
    label: 'Moisture',
    levels: MOISTURES,
    words: MOISTURE_WORDS,
    synonyms: ['moisture', 'wetness', 'ground moisture', 'wet or dry', 'conditions'],
  }),
  column('toe_before_mm', 'length', 'foot', {
    label: 'Toe length before the trim',
    low: 30,
    high: 180,
    note: 'Dorsal wall, hairline to ground-bearing edge.',
    synonyms: beforeTrim(TOE),
  }),
  column('toe_after_mm', 'length', 'foot', {
    label: 'Toe length after the trim',
    low: 30,
    high: 180,
    note: 'Dorsal wall, hairline to ground-bearing edge.',
    synonyms: afterTrim(TOE),
  }),
  column('heel_before_mm', 'length', 'foot', {
    label: 'Heel length before the trim',
    low: 5,
    high: 120,
    synonyms: beforeTrim(HEEL),
  }),
  column('heel_after_mm', 'length', 'foot', {
    label: 'Heel length after the trim',
    low: 5,
    high: 120,
    synonyms: afterTrim(HEEL),
  }),
  column('angle_before_deg', 'angle', 'foot', {
    label: 'Toe angle before the trim',
    low: 20,
    high: 85,
    note: 'Dorsal wall to ground.',
    synonyms: beforeTrim(ANGLE),
  }),
  column('angle_after_deg', 'angle', 'foot', {
    label: 'Toe angle after the trim',
    low: 20,
    high: 85,
    note: 'Dorsal wall to ground.',
    synonyms: afterTrim(ANGLE),
  }),
  column('new_growth_angle_deg', 'angle', 'foot', {
    label: 'Angle of the new growth',
    low: 20,
    high: 90,
    note: 'Angle of the newest band below the coronet: the angle hoped for once grown down.',
    synonyms: ['new growth angle', 'angle of new growth', 'new angle', 'growth angle'],
  }),
  column('sole_depth_mm', 'length', 'foot', {
    label: 'Sole depth',
    low: 1,
    high: 40,
    synonyms: ['sole depth', 'sole', 'sole thickness'],
  }),
  column('wall_thickness_mm', 'length', 'foot', {
    label: 'Wall thickness',
    low: 2,
    high: 30,
    synonyms: ['wall thickness', 'wall', 'wall width'],
  }),
  column('bar_height_mm', 'length', 'foot', {
    label: 'Bar height',
    low: 0,
    high: 40,
    note: 'Above the sole plane.',
    synonyms: ['bar height', 'bar', 'bars', 'bar length'],
  }),
  column('separation_grade', 'grade', 'foot', {
    label: 'Separation',
    low: 0,
    high: 3,
    note: '0 none, 1 slight, 2 moderate, 3 severe.',
    synonyms: [
      'separation grade',
      'separation',
      'wall separation',
      'separation score',
      'sep',
      'sep grade',
      // A white line or wall drawn out from the hoof is a separation under way (common practice).
      'stretched wall',
      'stretched white line',
      'stretched',
      'wall stretch',
      'white line stretch',
      ...['wandtrennung', 'lose wand', 'losse wand', 'decollement', 'decollement de paroi'],
      ...['paroi decollee', 'separacion', 'separacion de pared', 'separacion de la pared'],
    ],
  }),
  column('separation_site', 'level', 'foot', {
    label: 'Where the separation is',
    levels: SEPARATION_SITES,
    words: SEPARATION_SITE_WORDS,
    synonyms: ['separation site', 'site of separation', 'separation where', 'separation place', 'sep site'],
  }),
  column('separation_to_white_line_mm', 'length', 'foot', {
    label: 'Separation to the white line',
    low: 0,
    high: 30,
    note: 'For a separation within the wall: distance outward from the white line.',
    synonyms: [
      'separation to white line',
      'distance to white line',
      'separation distance',
      'sep to white line',
    ],
  }),
  column('separation_height_mm', 'length', 'foot', {
    label: 'Separation height',
    low: 0,
    high: 150,
    note: 'How far up from the ground it reaches.',
    synonyms: ['separation height', 'height of separation', 'separation depth', 'sep height'],
  }),
  column('wall_broken', 'boolean', 'foot', {
    label: 'Wall broken away',
    note: 'At the ground, since the last visit; blank means not looked for.',
    synonyms: [
      ...[
        'wall broken',
        'broken wall',
        'wall broken away',
        'broken away',
        'wall broken off',
        'wall breakage',
      ],
      ...['broken at the ground', 'wall chipped', 'chipped wall', 'wall loss'],
    ],
  }),
  column('fungal_frog_grade', 'grade', 'foot', {
    label: 'Infection of the frog',
    low: 0,
    high: 3,
    note: 'Infection of the frog and sulci; 0 none, 1 slight, 2 moderate, 3 severe.',
    synonyms: [
      'fungal frog grade',
      'fungal frog',
      'frog infection',
      'thrush',
      'thrush grade',
      'frog grade',
      'frog',
      ...[
        'strahlfaule',
        'rotstraal',
        'fourchette',
        'pourriture de fourchette',
        'pourriture de la fourchette',
      ],
      ...['podredumbre de ranilla', 'podredumbre de la ranilla', 'ranilla'],
    ],
  }),
  column('fungal_wall_grade', 'grade', 'foot', {
    label: 'Infection of the wall',
    low: 0,
    high: 3,
    note: 'Infection of the white line or wall; 0 none, 1 slight, 2 moderate, 3 severe.',
    synonyms: [
      'fungal wall grade',
      'fungal wall',
      'wall infection',
      'white line infection',
      'white line disease',
      'wld',
      'seedy toe',
    ],
  }),
  column('crack_grade', 'grade', 'foot', {
    label: 'Crack',
    low: 0,
    high: 3,
    note: '0 none, 1 slight, 2 moderate, 3 severe.',
    synonyms: ['crack grade', 'crack', 'cracks', 'wall crack', 'crack score'],
  }),
  column('crack_origin', 'level', 'foot', {
    label: 'Where the crack starts',
    levels: CRACK_ORIGINS,
    words: CRACK_ORIGIN_WORDS,
    synonyms: ['crack origin', 'origin of crack', 'crack from', 'crack starts'],
  }),
  column('coronet_injury', 'boolean', 'foot', {
    label: 'Coronet injury',
    synonyms: ['coronet injury', 'injury of coronet', 'coronary injury', 'coronet wound'],
  }),
  column('marker_mm', 'length', 'foot', {
    label: 'Marker below the hairline',
    low: 0,
    high: 180,
    note: 'From the hairline to a mark, ring or notch that grows down.',
    synonyms: ['marker', 'mark', 'marker distance', 'notch', 'ring', 'hairline to mark'],
  }),
  column('marker_id', 'text', 'foot', {
    label: 'Marker name',
    synonyms: ['marker id', 'marker name', 'mark id', 'mark name', 'which mark'],
  }),
  column('bevel_mm', 'length', 'foot', {
    label: 'Bevel',
    low: 0,
    high: 40,
    note: "How far in from the wall's outer edge the bevel reaches; blank means none recorded.",
    synonyms: ['bevel', 'bevel width', 'bevel depth', 'edge bevel'],
  }),
  column('relief', 'level', 'foot', {
    label: 'Relief of separated wall',
    levels: RELIEFS,
    words: RELIEF_WORDS,
    note: 'What was done to separated wall.',
    synonyms: ['relief', 'wall relief', 'separated wall', 'relieved'],
  }),
  column('protection', 'level', 'foot', {
    label: 'Protection',
    levels: PROTECTIONS,
    words: PROTECTION_WORDS,
    note: 'What the foot left in.',
    synonyms: ['protection', 'left in', 'left wearing', 'footwear', 'sole protection'],
  }),
  column('antifungal', 'boolean', 'foot', {
    label: 'Treated for infection',
    note: 'Treated for infection at this visit.',
    synonyms: ['antifungal', 'treated', 'treatment', 'treated for infection', 'infection treated'],
  }),
  column('sensitivity', 'grade', 'foot', {
    label: 'Tenderness',
    low: 0,
    high: 3,
    note: 'On the ground or to pressure at arrival; 0 none, 1 slight, 2 moderate, 3 severe.',
    synonyms: [
      ...['sensitivity', 'tenderness', 'sole sensitivity', 'sensitive', 'tender', 'soreness', 'sore'],
      ...['hoof tester', 'hoof testers'],
    ],
  }),
  column('notes', 'text', 'foot', {
    label: 'Notes',
    synonyms: [
      'notes',
      'note',
      'comment',
      'comments',
      'remarks',
      ...[
        'bemerkung',
        'bemerkungen',
        'notizen',
        'opmerking',
        'opmerkingen',
        'remarque',
        'remarques',
        'notas',
        'observaciones',
      ],
    ],
  }),
] as const satisfies readonly ColumnDescription[];

export type FootVisitColumn = (typeof FOOT_VISIT)[number];
export type ColumnName = FootVisitColumn['name'];

/** The earliest visit date admitted; common practice: no export is older, and a slip of a century is. */
export const EARLIEST_VISIT = '1980-01-01';

const byName: ReadonlyMap<string, FootVisitColumn> = new Map(FOOT_VISIT.map((c) => [c.name, c]));

/** A column by its SQL name. Throws on an unknown one: that is bad code. */
export function columnOf(name: string): ColumnDescription & { readonly name: ColumnName } {
  const found = byName.get(name);
  if (!found) throw new Error(`foot_visit has no column of this name: ${name}`);
  return found;
}

export function isColumnName(name: string): name is ColumnName {
  return byName.has(name);
}

/** Columns of the horses file, one row per horse. */
export const HORSE_COLUMNS: readonly (ColumnDescription & { readonly name: ColumnName })[] =
  FOOT_VISIT.filter((c) => c.per === 'horse');

/** How a column is held in a `Table` (core). */
export function storedAs(described: ColumnDescription): 'number' | 'day' | 'boolean' | 'text' {
  if (described.kind === 'text' || described.kind === 'level') return 'text';
  if (described.kind === 'day' || described.kind === 'boolean') return described.kind;
  return 'number';
}
