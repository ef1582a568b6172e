import { type CivilDay, dayFromIso, isoFromDay } from '../core/civil-day.ts';
import type { ColumnDescription } from '../herd/column.ts';
import { EARLIEST_VISIT } from '../herd/dictionary.ts';
import { cellSchema } from '../herd/row-schema.ts';
import type { CellUnit } from './mapping.ts';
import type { RawCell } from './source.ts';
import { parseAngle } from './values/angle-value.ts';
import { parseBoolean } from './values/boolean-value.ts';
import { type DateOrder, parseDate } from './values/date-value.ts';
import { parseGrade } from './values/grade-value.ts';
import { parseLength } from './values/length-value.ts';
import { levelParser } from './values/level-value.ts';
import { parseMass } from './values/mass-value.ts';
import { type DecimalMark, tidy } from './values/number-value.ts';
import { fault, faultOf, isBlankText, isFault, type Parsed, saysNothing } from './values/parsed.ts';
import { parseYear } from './values/year-value.ts';

interface CellContext {
  /** Unit of numbers that state none; the stored unit if left out. */
  readonly unit?: CellUnit | null;
  readonly dateOrder: DateOrder;
  readonly decimal: DecimalMark;
  readonly today: CivilDay;
  /** A column of plus signs, where a minus is grade 0 and not a blank. */
  readonly plusSigns?: boolean;
}

const EARLIEST = dayFromIso(EARLIEST_VISIT) as CivilDay;

/** Reads and checks one cell of a column: its value in the stored unit, null for nothing recorded, or the fault. */
export function cellParser(described: ColumnDescription, context: CellContext): (raw: RawCell) => Parsed {
  const read = textReader(described, context);
  const schema = cellSchema(described);
  return (raw) => {
    const parsed = readRaw(raw, described, context, read);
    if (parsed === null || raw === null) return null;
    if (isFault(parsed)) return faultOf(parsed, raw);
    if (described.kind === 'day') return dayWithin(parsed as number, context.today);
    return schema.safeParse(parsed).success ? parsed : fault(outside(described, parsed));
  };
}

function readRaw(
  raw: RawCell,
  described: ColumnDescription,
  context: CellContext,
  read: (text: string) => Parsed,
): Parsed {
  if (raw === null || (typeof raw === 'number' && Number.isNaN(raw))) return null;
  if (described.kind === 'text') {
    const text = String(raw);
    return isBlankText(text)
      ? null
      : described.name === 'notes'
        ? text.trim()
        : text.trim().replace(/\s+/g, ' ');
  }
  if (typeof raw === 'boolean' && described.kind === 'boolean') return raw;
  const text = String(typeof raw === 'number' ? tidy(raw) : raw);
  if (saysNothing(text) && !(context.plusSigns && text.trim() === '-')) return null;
  return read(text);
}

function textReader(described: ColumnDescription, context: CellContext): (text: string) => Parsed {
  const { unit, decimal, dateOrder } = context;
  switch (described.kind) {
    case 'length':
      return (text) => parseLength(text, unit === 'cm' || unit === 'in' ? unit : 'mm', decimal);
    case 'angle':
      return (text) => parseAngle(text, decimal);
    case 'mass':
      return (text) => parseMass(text, unit === 'lb' ? 'lb' : 'kg', decimal);
    case 'day':
      return (text) => parseDate(text, dateOrder);
    case 'level':
      return levelParser(described);
    case 'grade':
      return parseGrade;
    case 'boolean':
      return parseBoolean;
    case 'year':
      return parseYear;
    case 'text':
      return (text) => text;
  }
}

function dayWithin(day: number, today: CivilDay): Parsed {
  if (day > today) return fault(`in the future: ${isoFromDay(day)}`);
  return day < EARLIEST ? fault(`before 1980: ${isoFromDay(day)}`) : day;
}

function outside(described: ColumnDescription, value: unknown): string {
  if (described.kind === 'grade') return `no such grade: ${value}`;
  const unit = described.unit === 'deg' ? ' degrees' : described.unit ? ` ${described.unit}` : '';
  const shown = typeof value === 'number' ? Math.round(value * 10) / 10 : String(value);
  return `outside ${described.low} to ${described.high}${unit}: ${shown}${unit}`;
}
