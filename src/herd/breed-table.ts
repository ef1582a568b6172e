import { plain, plainWords } from './plain.ts';
import { BREED_TYPE_WORDS, BREED_TYPES, type BreedType } from './vocabularies.ts';

/**
 * Breeds and the type each counts as; the user can amend the result. Common practice, from memory: studbooks
 * do not use these six types. Cobs and other breeds bred heavy and low are 'draft' where their feet are.
 */
export const BREED_TABLE: Readonly<Record<Exclude<BreedType, 'other'>, readonly string[]>> = {
  draft: [
    'ardennes',
    'ardennais',
    'belgian',
    'belgian draft',
    'boulonnais',
    'breton',
    'clydesdale',
    'comtois',
    'gypsy cob',
    'gypsy vanner',
    'irish cob',
    'italian heavy draft',
    'jutland',
    'noriker',
    'north swedish',
    'percheron',
    'rhenish german coldblood',
    'schleswig coldblood',
    'shire',
    'south german coldblood',
    'suffolk punch',
    'tinker',
    'traditional cob',
    'vladimir',
  ],
  warmblood: [
    'bavarian warmblood',
    'belgian warmblood',
    'british warmblood',
    'cleveland bay',
    'danish warmblood',
    'dutch warmblood',
    'friesian',
    'hanoverian',
    'hannoveraner',
    'holsteiner',
    'id',
    'irish draught',
    'irish sport horse',
    'kwpn',
    'lipizzaner',
    'oldenburg',
    'selle francais',
    'swedish warmblood',
    'trakehner',
    'warmblood',
    'westphalian',
    'zangersheide',
  ],
  light: [
    'akhal teke',
    'american paint',
    'andalusian',
    'anglo arab',
    'appaloosa',
    'arab',
    'arabian',
    'barb',
    'criollo',
    'knabstrupper',
    'lusitano',
    'marwari',
    'missouri fox trotter',
    'morgan',
    'mustang',
    'ottb',
    'paint',
    'paso fino',
    'peruvian paso',
    'pinto',
    'pre',
    'quarter horse',
    'rocky mountain horse',
    'saddlebred',
    'standardbred',
    'tb',
    'tennessee walker',
    'tennessee walking horse',
    'thoroughbred',
    'trotter',
  ],
  pony: [
    'american miniature',
    'connemara',
    'dales',
    'dartmoor',
    'exmoor',
    'falabella',
    'fell',
    'fjord',
    'german riding pony',
    'haflinger',
    'hackney pony',
    'highland',
    'icelandic',
    'miniature horse',
    'new forest',
    'pony',
    'pony of the americas',
    'shetland',
    'welsh cob',
    'welsh mountain',
    'welsh section a',
    'welsh section b',
    'welsh section c',
    'welsh section d',
    'welsh',
  ],
  donkey: ['donkey', 'mammoth donkey', 'miniature donkey', 'poitou', 'mule', 'hinny'],
};

const typeOfBreed = new Map<string, BreedType>();
for (const type of BREED_TYPES) {
  if (type !== 'other') for (const breed of BREED_TABLE[type]) typeOfBreed.set(plainWords(breed), type);
}
const generic = new Map<string, BreedType>();
for (const type of BREED_TYPES) {
  // 'other' and its words say nothing about a breed that is free text.
  if (type !== 'other')
    for (const word of [type, ...(BREED_TYPE_WORDS[type] ?? [])]) generic.set(plainWords(word), type);
}

/** Single words that tell the type inside a longer text; 'horse' or 'light' do not. */
const TELLING = new Set(['draft', 'draught', 'heavy', 'coldblood', 'warmblood', 'pony', 'donkey', 'mule']);

/**
 * Type of a breed written as free text; case, accents and signs do not count. Of a cross, the type that all its
 * parts share; null where a part is not in the table or the parts disagree.
 */
export function breedTypeOf(breed: string): BreedType | null {
  const whole = wholeType(plainWords(breed));
  if (whole) return whole;
  const parts = plain(breed)
    .split(/\s+x\b|\bx\s+|[×/]|\bcross(?:ed)?(?:\s+with)?\b/)
    .map(plainWords)
    .filter((part) => part !== '');
  const types = parts.flatMap((part) => {
    const type = wholeType(part);
    return type ? [type] : knownParts(part.split(' '));
  });
  const everyPartKnown = parts.every((part) => wholeType(part) ?? knownParts(part.split(' ')).length > 0);
  return everyPartKnown && new Set(types).size === 1 ? (types[0] as BreedType) : null;
}

function wholeType(words: string): BreedType | undefined {
  return typeOfBreed.get(words) ?? generic.get(words);
}

/** Types of the breeds named inside a longer text, longest names first, no word used twice. */
function knownParts(words: readonly string[]): BreedType[] {
  const left = [...words];
  const found: BreedType[] = [];
  for (let span = Math.min(4, left.length); span >= 1; span--) {
    for (let at = 0; at + span <= left.length; at++) {
      const said = left.slice(at, at + span).join(' ');
      const type = typeOfBreed.get(said) ?? (span > 1 || TELLING.has(said) ? generic.get(said) : undefined);
      if (type) {
        found.push(type);
        left.splice(at, span, ''); // a gap, so that words on both sides do not join up
      }
    }
  }
  return found;
}
