/** Levels of the coded columns, each with the everyday words that mean it (lower case, no accents). */

export const FEET = ['LF', 'RF', 'LH', 'RH'] as const;
export type Foot = (typeof FEET)[number];

/** For people: `left fore`. */
export const FOOT_LABELS: Readonly<Record<Foot, string>> = {
  LF: 'left fore',
  RF: 'right fore',
  LH: 'left hind',
  RH: 'right hind',
};

export const BREED_TYPES = ['draft', 'warmblood', 'light', 'pony', 'donkey', 'other'] as const;
export type BreedType = (typeof BREED_TYPES)[number];

export const TERRAINS = ['soft', 'mixed', 'firm', 'rocky'] as const;
export const MOISTURES = ['dry', 'mixed', 'wet'] as const;
export const SEPARATION_SITES = ['white_line', 'within_wall'] as const;
export const CRACK_ORIGINS = ['ground', 'coronet'] as const;
export const RELIEFS = ['none', 'bevel_only', 'relieved'] as const;
export const PROTECTIONS = ['bare', 'boot', 'cast', 'pad', 'shoe'] as const;

export type Words = Readonly<Record<string, readonly string[]>>;

const SIDES = { L: ['left', 'near', 'l', 'n', 'links', 'ns'], R: ['right', 'off', 'r', 'o', 'rechts', 'os'] };
const ENDS = { F: ['fore', 'front', 'f'], H: ['hind', 'back', 'rear', 'h', 'b'] };

/** All ways to say one foot: side then end, end then side, spaced or run together. */
function footWords(side: 'L' | 'R', end: 'F' | 'H'): string[] {
  const said = SIDES[side].flatMap((s) =>
    ENDS[end].flatMap((e) => {
      const sideFirst = [`${s} ${e}`, `${s}${e}`];
      // 'hind left' and 'HL' are common; 'F N' is not and would swallow other headers.
      return s.length === 1 && s !== 'l' && s !== 'r' ? sideFirst : [...sideFirst, `${e} ${s}`, `${e}${s}`];
    }),
  );
  return [...new Set(said)].filter((word) => !/^(of|no|on|or|ob)$/.test(word));
}

/** German, Dutch, French and Spanish (common practice). */
const ABROAD: Readonly<Record<Foot, readonly string[]>> = {
  LF: [
    ...[
      'vorne links',
      'vorn links',
      'links vorne',
      'links vorn',
      'vl',
      'links voor',
      'linksvoor',
      'voor links',
      'lv',
    ],
    ...['anterieur gauche', 'ag', 'mano izquierda', 'anterior izquierdo'],
  ],
  RF: [
    ...[
      'vorne rechts',
      'vorn rechts',
      'rechts vorne',
      'rechts vorn',
      'vr',
      'rechts voor',
      'rechtsvoor',
      'voor rechts',
      'rv',
    ],
    ...['anterieur droit', 'ad', 'mano derecha', 'anterior derecho'],
  ],
  LH: [
    ...['hinten links', 'links hinten', 'links achter', 'linksachter', 'achter links'],
    ...['posterieur gauche', 'pg', 'pata izquierda', 'posterior izquierdo'],
  ],
  RH: [
    ...['hinten rechts', 'rechts hinten', 'rechts achter', 'rechtsachter', 'achter rechts'],
    ...['posterieur droit', 'pd', 'pata derecha', 'posterior derecho'],
  ],
};

export const FOOT_WORDS: Readonly<Record<Foot, readonly string[]>> = {
  LF: [...footWords('L', 'F'), ...ABROAD.LF],
  RF: [...footWords('R', 'F'), 'of', ...ABROAD.RF],
  LH: [...footWords('L', 'H'), ...ABROAD.LH],
  RH: [...footWords('R', 'H'), ...ABROAD.RH],
};

export const TERRAIN_WORDS: Words = {
  soft: ['grass', 'pasture', 'turf', 'meadow', 'sand', 'sandy', 'mud', 'deep', 'arena', 'soft ground'],
  mixed: ['mix', 'varied', 'various', 'both', 'mixed ground'],
  firm: ['hard', 'hard ground', 'firm ground', 'dirt', 'track', 'road'],
  rocky: ['rock', 'rocks', 'stony', 'stone', 'stones', 'gravel', 'abrasive'],
};

export const MOISTURE_WORDS: Words = {
  dry: ['arid', 'dry ground'],
  mixed: ['mix', 'varied', 'variable', 'both', 'changing', 'damp', 'moist'],
  wet: ['muddy', 'soaked', 'boggy', 'very wet', 'wet ground'],
};

export const SEPARATION_SITE_WORDS: Words = {
  white_line: ['white line', 'whiteline', 'wl', 'at white line', 'at the white line'],
  within_wall: ['within wall', 'within the wall', 'in wall', 'in the wall', 'wall', 'mid wall', 'outer wall'],
};

export const CRACK_ORIGIN_WORDS: Words = {
  ground: ['bottom', 'from ground', 'from the ground', 'from below', 'below', 'distal', 'bearing edge'],
  coronet: ['top', 'from coronet', 'from the coronet', 'coronary band', 'coronary', 'hairline', 'proximal'],
};

export const RELIEF_WORDS: Words = {
  none: ['no', 'not', 'nothing', 'no relief', 'not relieved', 'left', '0'],
  bevel_only: [
    'bevel',
    'bevel only',
    'bevelled',
    'beveled',
    'bevelled only',
    'beveled only',
    'only bevelled',
  ],
  relieved: [
    'relief',
    'out of contact',
    'unloaded',
    'unweighted',
    'floated',
    'taken out of contact',
    'removed',
  ],
};

export const PROTECTION_WORDS: Words = {
  bare: ['barefoot', 'none', 'nothing', 'no', 'unshod', 'without'],
  boot: ['boots', 'booted', 'hoof boot', 'hoof boots'],
  cast: ['casts', 'casted', 'hoof cast'],
  pad: ['pads', 'padded'],
  shoe: ['shoes', 'shod', 'steel', 'shoed'],
};

export const BREED_TYPE_WORDS: Words = {
  draft: ['draught', 'heavy', 'heavy horse', 'draft horse', 'draught horse', 'coldblood', 'cold blood'],
  warmblood: ['warm blood', 'wb', 'sport horse', 'sports horse'],
  light: ['light horse', 'riding horse', 'hotblood', 'hot blood', 'horse'],
  pony: ['ponies', 'miniature'],
  donkey: ['mule', 'ass', 'donkeys', 'mules'],
  other: ['unknown', 'mixed', 'cross'],
};

export const GRADE_WORDS: Readonly<Record<'0' | '1' | '2' | '3', readonly string[]>> = {
  '0': ['none', 'no', 'clear', 'nil', 'absent', '-', 'healthy'],
  '1': ['slight', 'mild', '+', 'minor', 'light', 'trace'],
  '2': ['moderate', 'medium', '++', 'mod'],
  '3': ['severe', 'bad', '+++', 'marked', 'heavy', 'deep'],
};

export const BOOLEAN_WORDS: Readonly<Record<'true' | 'false', readonly string[]>> = {
  true: ['true', 'yes', 'y', '1', 'x', 'ja', 'j', 'oui', 'si', '✓', '✔'],
  false: ['false', 'no', 'n', '0', 'nein', 'nee', 'non'],
};
