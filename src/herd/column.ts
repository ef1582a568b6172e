import type { Words } from './vocabularies.ts';

export type ColumnKind =
  | 'text'
  | 'day'
  | 'length'
  | 'angle'
  | 'grade'
  | 'level'
  | 'boolean'
  | 'year'
  | 'mass';

/** One column of the record, described once: names in SQL, words for people, limits, headers it is known by. */
export interface ColumnDescription {
  /** SQL name; carries the unit. */
  readonly name: string;
  readonly label: string;
  readonly kind: ColumnKind;
  /** Stored unit: lengths in mm, angles in degrees, masses in kg; null where there is none. */
  readonly unit: 'mm' | 'deg' | 'kg' | null;
  readonly levels: readonly string[] | null;
  /** Everyday words for each level. */
  readonly words: Words | null;
  /** Values outside these are set aside as implausible; null where nothing bounds them. */
  readonly low: number | null;
  readonly high: number | null;
  readonly required: boolean;
  /** What one value belongs to: a foot at a visit, the visit, or the horse. */
  readonly per: 'foot' | 'visit' | 'horse';
  readonly note: string;
  /** Headers it is known by: lower case, words parted by one space, no foot and no unit. */
  readonly synonyms: readonly string[];
}

type Given = Omit<ColumnDescription, 'label' | 'synonyms'>;
type Defaults = 'unit' | 'levels' | 'words' | 'low' | 'high' | 'required' | 'note';
type Brief = Pick<ColumnDescription, 'label' | 'synonyms'> & Partial<Pick<Given, Defaults>>;

/** Fills in what most columns have none of, and keeps name and kind as literal types. */
export function column<
  const Name extends string,
  const Kind extends ColumnKind,
  const Required extends boolean = false,
>(
  name: Name,
  kind: Kind,
  per: ColumnDescription['per'],
  rest: Brief & { readonly required?: Required },
): ColumnDescription & { readonly name: Name; readonly kind: Kind; readonly required: Required } {
  const required = (rest.required ?? false) as Required;
  const unit = kind === 'length' ? 'mm' : kind === 'angle' ? 'deg' : kind === 'mass' ? 'kg' : null;
  const base = { unit, levels: null, words: null, low: null, high: null, note: '' } as const;
  return { ...base, ...rest, name, kind, per, required };
}

/** Words for before the trim; also German, Dutch, French and Spanish (common practice). */
export const BEFORE_WORDS = [
  'before',
  'pre',
  'before trim',
  'pre trim',
  'arriving',
  'arrival',
  'on arrival',
  'at arrival',
  'incoming',
  'untrimmed',
  'start',
  'vorher',
  'vor',
  'voor',
  'vooraf',
  'avant',
  'avant parage',
  'antes',
] as const;

/** Words for after the trim, likewise. */
const AFTER_WORDS = [
  'after',
  'post',
  'after trim',
  'post trim',
  'leaving',
  'on leaving',
  'at leaving',
  'outgoing',
  'trimmed',
  'end',
  'left at',
  'nachher',
  'nach',
  'na',
  'achteraf',
  'apres',
  'apres parage',
  'despues',
] as const;

/** Headers of a measurement taken before the trim; a bare `toe` counts as one. */
export function beforeTrim(bases: readonly string[]): string[] {
  return [...bases, ...withMoment(bases, BEFORE_WORDS)];
}

/** Headers of a measurement taken after the trim. */
export function afterTrim(bases: readonly string[]): string[] {
  return withMoment(bases, AFTER_WORDS);
}

function withMoment(bases: readonly string[], moments: readonly string[]): string[] {
  return bases.flatMap((b) => moments.flatMap((w) => [`${b} ${w}`, `${w} ${b}`]));
}
