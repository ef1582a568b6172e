import { BEFORE_WORDS, type ColumnDescription } from '../herd/column.ts';
import { type ColumnName, columnOf, FOOT_VISIT } from '../herd/dictionary.ts';
import { plain } from '../herd/plain.ts';
import { FEET, FOOT_LABELS, FOOT_WORDS, type Foot } from '../herd/vocabularies.ts';
import type { CellUnit, FileKind, MappedColumn } from './mapping.ts';

interface HeaderMatch {
  readonly target: ColumnName;
  readonly foot: Foot | null;
  readonly unit: CellUnit | null;
  readonly confidence: 'name' | 'synonym' | 'guess';
}

const UNITS: Readonly<Record<string, CellUnit>> = {
  mm: 'mm',
  cm: 'cm',
  in: 'in',
  inch: 'in',
  inches: 'in',
  ins: 'in',
  deg: 'deg',
  degree: 'deg',
  degrees: 'deg',
  kg: 'kg',
  kgs: 'kg',
  lb: 'lb',
  lbs: 'lb',
  pounds: 'lb',
};

/** Words that add nothing to a header. */
const FILLER = new Set(['the', 'a', 'measurement', 'grade', 'score', 'length', '0', '3']);

/** A header that says more is not known by its words. */
const LONGEST_HEADER = 500;

/** A header as words: `LFToe_before (mm)` → lf toe before mm. */
export function headerWords(header: string): string[] {
  const parted = header
    .slice(0, LONGEST_HEADER)
    .replace(/([\p{Ll}\p{N}])(\p{Lu})/gu, '$1 $2')
    .replace(/(\p{Lu}{2,})(\p{Lu}\p{Ll})/gu, '$1 $2')
    .replace(/["″”]/g, ' inches ')
    .replace(/[°º]/g, ' deg ');
  return plain(parted)
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim()
    .split(' ')
    .filter((word) => word !== '');
}

const bag = (words: readonly string[]): string => [...words].sort().join(' ');

const footByWords = new Map<string, Foot>(
  FEET.flatMap((foot) => FOOT_WORDS[foot].map((w) => [w, foot] as const)),
);

/** Targets by the bag of words of each name and synonym, in order of the dictionary. */
const targetsByBag = new Map<string, { target: ColumnName; confidence: 'name' | 'synonym' }[]>();
for (const c of FOOT_VISIT) {
  const name = c.name.replace(/_(mm|deg|kg)$/, '').split('_');
  const ways = [
    { words: name, confidence: 'name' as const },
    ...c.synonyms.map((s) => ({ words: s.split(' '), confidence: 'synonym' as const })),
  ];
  for (const { words, confidence } of ways) {
    const list = targetsByBag.get(bag(words)) ?? [];
    if (!list.some((entry) => entry.target === c.name)) list.push({ target: c.name, confidence });
    targetsByBag.set(bag(words), list);
  }
}

type Reading = Omit<HeaderMatch, 'target' | 'confidence'> & { readonly words: readonly string[] };

/** The header with its unit, its foot, or both taken off, plainest first. */
function readings(words: readonly string[]): Reading[] {
  const whole: Reading = { words, foot: null, unit: null };
  const unitAt = words.findLastIndex((word) => word in UNITS);
  const withoutUnit: Reading[] =
    unitAt === -1
      ? []
      : [{ words: words.toSpliced(unitAt, 1), foot: null, unit: UNITS[words[unitAt] as string] ?? null }];
  const bases = [whole, ...withoutUnit];
  return [...bases, ...bases.flatMap(withoutFoot)];
}

function withoutFoot(reading: Reading): Reading[] {
  const found: Reading[] = [];
  for (const span of [2, 1]) {
    for (let at = 0; at + span <= reading.words.length; at++) {
      const said = reading.words.slice(at, at + span).join(' ');
      const foot = footByWords.get(said);
      // 'of' is the off fore only at an end: 'height of separation' is not.
      const misread = said === 'of' && at > 0 && at + span < reading.words.length;
      if (foot && !misread) found.push({ ...reading, words: reading.words.toSpliced(at, span), foot });
    }
  }
  return found;
}

/** Every target a header may mean, best first. Only columns of a foot take a foot, only measures a unit. */
export function headerMatches(header: string): HeaderMatch[] {
  const all: HeaderMatch[] = [];
  const add = (target: ColumnName, { foot, unit }: Reading, confidence: HeaderMatch['confidence']): void => {
    const described = columnOf(target);
    if (foot !== null && (described.per !== 'foot' || target === 'foot')) return;
    if (unit !== null && !unitFits(unit, described.unit)) return;
    if (!all.some((m) => m.target === target)) all.push({ target, foot, unit, confidence });
  };
  const ways = readings(headerWords(header));
  for (const reading of ways) {
    for (const { target, confidence } of targetsByBag.get(bag(reading.words)) ?? [])
      add(target, reading, confidence);
  }
  for (const reading of ways) {
    const core = reading.words.filter((word) => !FILLER.has(word));
    if (core.length === 0 || core.length === reading.words.length) continue;
    for (const { target } of targetsByBag.get(bag(core)) ?? []) add(target, reading, 'guess');
  }
  return all;
}

/** The unit that a header names for a measure; null where it names none that fits. */
export function headerUnit(header: string, described: ColumnDescription): CellUnit | null {
  const said = headerWords(header).findLast((word) => word in UNITS);
  const unit = said === undefined ? null : (UNITS[said] ?? null);
  return unit !== null && unitFits(unit, described.unit) ? unit : null;
}

/** The foot that a header names, whatever else it says. */
export function headerFoot(header: string): Foot | null {
  const ways = readings(headerWords(header));
  return ways.find(({ foot }) => foot !== null)?.foot ?? null;
}

function unitFits(unit: CellUnit, stored: 'mm' | 'deg' | 'kg' | null): boolean {
  if (unit === 'kg' || unit === 'lb') return stored === 'kg';
  return unit === 'deg' ? stored === 'deg' : stored === 'mm';
}

const RANK = { name: 0, synonym: 1, guess: 2 } as const;

export type Matched = Pick<MappedColumn, 'source' | 'target' | 'foot' | 'unit' | 'confidence' | 'why'>;

/** Gives each target (of each foot) to the header that fits it best; a loser takes its next choice or is not used. */
export function matchHeaders(headers: readonly string[], kind: FileKind): Matched[] {
  const offers = headers.flatMap((source, index) =>
    headerMatches(source)
      .filter((match) => kind === 'visits' || columnOf(match.target).per === 'horse')
      .map((match, choice) => ({ index, choice, match })),
  );
  offers.sort(
    (a, b) => RANK[a.match.confidence] - RANK[b.match.confidence] || a.choice - b.choice || a.index - b.index,
  );
  const takenTargets = new Map<string, number>();
  const chosen = new Map<number, HeaderMatch>();
  for (const { index, match } of offers) {
    const key = `${match.target} ${match.foot ?? ''}`;
    if (chosen.has(index) || takenTargets.has(key)) continue;
    takenTargets.set(key, index);
    chosen.set(index, match);
  }
  nameAsId(headers, takenTargets, chosen);
  return headers.map((source, index): Matched => {
    const match = chosen.get(index);
    if (match) return { source, ...match, why: whyMatched({ ...match, source }) };
    const lost = offers.find((offer) => offer.index === index)?.match;
    const winner = lost && takenTargets.get(`${lost.target} ${lost.foot ?? ''}`);
    const why = winner === undefined ? '' : `“${headers[winner]}” already gives it`;
    return { source, target: null, foot: null, unit: null, confidence: 'none', why };
  });
}

/** Where nothing else says which horse, its name does. */
function nameAsId(
  headers: readonly string[],
  taken: Map<string, number>,
  chosen: Map<number, HeaderMatch>,
): void {
  const named = taken.get('horse_name ');
  if (taken.has('horse_id ') || named === undefined || headers[named] === undefined) return;
  chosen.set(named, { target: 'horse_id', foot: null, unit: null, confidence: 'guess' });
  taken.set('horse_id ', named);
}

const HOW: Readonly<Record<MappedColumn['confidence'], string>> = {
  // The ordinary needs no words.
  name: '',
  synonym: '',
  guess: 'part of its name is known',
  none: '',
  user: 'as you chose',
};
const BEFORE = new Set(BEFORE_WORDS.flatMap((words) => words.split(' ')));

/** Short words for how a column came to its target and foot. */
export function whyMatched({
  source,
  target,
  foot,
  confidence,
}: Pick<MappedColumn, 'source' | 'target' | 'foot' | 'confidence'>): string {
  const parts = [HOW[confidence]];
  const saysBefore = headerWords(source).some((word) => BEFORE.has(word));
  if (target?.includes('_before_') && confidence !== 'user' && !saysBefore)
    parts.push('taken as before the trim, as it does not say after');
  if (foot) parts.push(FOOT_LABELS[foot]);
  return parts.filter((part) => part !== '').join('; ');
}
