import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { numbers, type Table, texts } from '../../src/core/table.ts';
import { FOOT_VISIT } from '../../src/herd/dictionary.ts';
import { type Combined, combine } from '../../src/intake/combine.ts';
import { type Mapping, mappingProblems } from '../../src/intake/mapping.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { type Read, readSource } from '../../src/intake/read.ts';
import { IntakeRefusal } from '../../src/intake/refusal.ts';
import { rowsInFile } from '../../src/intake/source.ts';
import { type Random, seededRandom } from '../../src/stats/random.ts';
import { SPOILT_BYTES } from './spoil-bytes.ts';
import { SPOILT_TEXTS } from './spoil-text.ts';

const TODAY = dayFromIso('2026-11-25') as CivilDay;
/** What a refusal may ask of the user. */
const ASKS = /\b(choose|export|save|rename|unpack|add|copy|say|name|read)\b/i;

/** The few that take a second each are made less often. */
const SLOW = ['a cell of 10 MB', '5,000 columns', 'a quotation mark in every line of a longer file'];
const KINDS = { ...SPOILT_TEXTS, ...SPOILT_BYTES };
const NAMES = Object.keys(KINDS);
const QUICK = NAMES.filter((name) => !SLOW.includes(name));

/** One in so many files is a slow one. */
const SLOW_EVERY = 50;

export interface BadFile {
  readonly kind: string;
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** File `n` of the endless row of bad files: the kinds in turn, each with a seed of its own. */
export async function badFile(n: number, slowEvery = SLOW_EVERY): Promise<BadFile> {
  const slow = n % slowEvery === slowEvery - 1;
  const kinds = slow ? SLOW : QUICK;
  const kind = kinds[(slow ? Math.floor(n / slowEvery) : n) % kinds.length] as string;
  const made = await (KINDS[kind] as (random: Random) => string | Uint8Array | Promise<Uint8Array>)(
    seededRandom(n),
  );
  const bytes = typeof made === 'string' ? new TextEncoder().encode(made) : made;
  return { kind, name: kind.startsWith('Parquet') ? 'visits.parquet' : 'visits.csv', bytes };
}

export interface IntakeOutcome {
  readonly outcome: 'refused' | 'asked' | 'read';
  readonly rowsRead: number;
  readonly admitted: number;
  readonly setAside: number;
  /** What went wrong, in words; empty where nothing did. */
  readonly faults: readonly string[];
  readonly combined: Combined | null;
}

const NOTHING = { rowsRead: 0, admitted: 0, setAside: 0, combined: null };

/** Offers a file to intake as a person would who answers every question, and looks closely at what comes of it. */
export async function offer(
  { name, bytes }: Pick<BadFile, 'name' | 'bytes'>,
  random: Random,
): Promise<IntakeOutcome> {
  try {
    const { source, mapping: proposed } = await inspectFile({ name, bytes });
    const mapping = settled(proposed, random);
    if (mappingProblems(mapping).length > 0) {
      const faults = mappingProblems(mapping).filter((sentence) => !isSentence(sentence));
      return { ...NOTHING, outcome: 'asked', faults };
    }
    const read = await readSource(source, mapping, { today: TODAY });
    const combined = combine([read]);
    const { rowsRead, admitted, setAside } = combined.report;
    return { outcome: 'read', rowsRead, admitted, setAside, combined, faults: faultsOf(read, combined) };
  } catch (error) {
    if (!(error instanceof IntakeRefusal)) {
      return {
        ...NOTHING,
        outcome: 'refused',
        faults: [`threw ${error instanceof Error ? (error.stack ?? error.message).slice(0, 600) : error}`],
      };
    }
    return { ...NOTHING, outcome: 'refused', faults: refusalFaults(error, name) };
  }
}

function refusalFaults({ sentence }: IntakeRefusal, name: string): string[] {
  if (!sentence.startsWith(name)) return [`a refusal that does not name the file: ${sentence}`];
  if (sentence.length > 600) return [`a refusal of ${sentence.length} characters: ${sentence.slice(0, 200)}`];
  return isSentence(sentence) && ASKS.test(sentence.slice(name.length))
    ? []
    : [`a refusal that does not say what to do: ${sentence}`];
}

const isSentence = (text: string): boolean => /[.!?”]$/.test(text) && !/\[object|undefined|NaN/.test(text);

/** The answers of somebody who wants the file read: units, the order of dates, the columns that every visit has. */
function settled(mapping: Mapping, random: Random): Mapping {
  const taken = new Set<string>();
  const columns = mapping.columns.map((column) => {
    const place = `${column.target} ${column.foot}`;
    const again = column.target !== null && taken.has(place);
    taken.add(place);
    if (again) return { ...column, target: null, foot: null };
    return column.unit === null ? { ...column, unit: random.pick(['mm', 'cm', 'in'] as const) } : column;
  });
  const dateOrder =
    mapping.dateOrder === 'ask' ? random.pick(['day-first', 'month-first'] as const) : mapping.dateOrder;
  return { ...mapping, columns, dateOrder };
}

/** Counted afresh from the tables, not taken from the report. */
function faultsOf({ source, counts }: Read, { admitted, horses, setAside, report }: Combined): string[] {
  const faults: string[] = [];
  const must = (holds: boolean, words: string): void => {
    if (!holds) faults.push(words);
  };
  must(report.identityHolds, 'the report says that its identity does not hold');
  const kept = admitted.rowCount + horses.rowCount;
  const rowsOf = new Map(Array.from(numbers(setAside, 'set_aside_row'), (row, i) => [row, i]));
  const counted = numbers(setAside, 'rows');
  const aside = [...rowsOf.values()].reduce((sum, i) => sum + (counted[i] as number), 0);
  must(kept === report.admitted, `${kept} rows kept, ${report.admitted} reported`);
  must(aside === report.setAside, `${aside} rows set aside, ${report.setAside} reported`);
  must(report.rowsRead === kept + aside, `${report.rowsRead} read, ${kept} kept, ${aside} set aside`);
  must(counts.sourceRows === rowsInFile(source), 'rows of the file');
  // Every row of the file is somewhere, by its line.
  const lines = new Set([
    ...numbers(admitted, 'source_line'),
    ...numbers(horses, 'source_line'),
    ...numbers(setAside, 'line'),
  ]);
  const there = new Set([...source.lines, ...source.brokenRuns.map(({ line }) => line)]).size;
  must(lines.size === there, `${there} lines with rows, ${lines.size} told of`);
  for (const column of ['reason', 'accepted']) {
    const missing = texts(setAside, column).filter((text) => !text || /\[object|undefined|NaN/.test(text));
    must(missing.length === 0, `${missing.length} rows set aside without ${column}: ${missing[0]}`);
  }
  return [...faults, ...valueFaults(admitted)];
}

/** Admitted values outside of what the data dictionary allows. */
function valueFaults(admitted: Table): string[] {
  return FOOT_VISIT.flatMap(({ name, kind, low, high, levels, required }) => {
    const values = admitted.columns[name]?.values;
    if (!values) return [];
    for (const value of values) {
      const there = value !== null && !Number.isNaN(value);
      if (!there && required) return [`${name}: missing in an admitted row`];
      if (!there) continue;
      if (
        typeof value === 'number' &&
        !(Number.isFinite(value) && value >= (low ?? -Infinity) && value <= (high ?? Infinity))
      )
        return [`${name}: ${value} admitted`];
      if (kind === 'text' && (typeof value !== 'string' || value === ''))
        return [`${name}: ${JSON.stringify(value)} admitted as text`];
      if (levels && !levels.includes(value as string)) return [`${name}: ${value} admitted`];
    }
    return [];
  });
}
