import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { cpus, totalmem } from 'node:os';
import { dirname } from 'node:path';

export const PARTS = ['intake', 'relations', 'pages', 'estimators', 'browser'] as const;
export type Part = (typeof PARTS)[number];

/** One thing measured. */
export interface Measurement {
  /** Stays the same from run to run; what targets and other sizes are found by. */
  readonly key: string;
  /** In words, Markdown. */
  readonly what: string;
  readonly unit: 'ms' | 'kB' | 'MB' | '%' | 'count';
  /** Every run, in order. */
  readonly values: readonly number[];
  /** What it is compared with, measured in the same run on the same rows. */
  readonly beside?: { readonly name: string; readonly values: readonly number[] };
  /** How far the two results lie apart: what is compared, in words, and the figure. */
  readonly apart?: readonly { readonly of: string; readonly value: number }[];
  readonly note?: string;
}

/** What a part of the bench gives. */
export interface Measured {
  readonly measurements: readonly Measurement[];
  /** What was skipped, and why. */
  readonly notes?: readonly string[];
  readonly versions?: Readonly<Record<string, string>>;
}

/** What a herd of the bench is made of. */
export interface HerdSize {
  readonly horses: number;
  readonly feet: number;
  /** From each horse's first visit to its last, summed. */
  readonly horseYears: number;
}

/** A part of the bench at one size, or pieces of it where it was measured piece by piece. */
export interface PartResult {
  readonly part: Part;
  /** Which pieces; left out where it is all of them. */
  readonly of?: readonly string[];
  /** Foot rows of the herd. */
  readonly rows: number;
  readonly herd?: HerdSize;
  readonly commit: string;
  /** ISO 8601 date and time, UTC. */
  readonly at: string;
  readonly machine: string;
  readonly versions: Readonly<Record<string, string>>;
  readonly measurements: readonly Measurement[];
  /** What was skipped, and why. */
  readonly notes: readonly string[];
}

/** Kept with the documents, whose figures are read from it. */
export const RESULTS = 'docs/benchmarks.json';

export function readResults(path = RESULTS): PartResult[] {
  return existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as PartResult[]) : [];
}

/**
 * A part measured again takes the place of what it gave before, and pieces of it the place of the same measurements; the
 * others stay.
 */
export function merged(before: readonly PartResult[], fresh: PartResult): PartResult[] {
  const isSame = ({ part, rows }: PartResult): boolean => part === fresh.part && rows === fresh.rows;
  const keys = new Set(fresh.measurements.map(({ key }) => key));
  const others = before.flatMap((result): PartResult[] => {
    if (!isSame(result)) return [result];
    const left = result.measurements.filter(({ key }) => !keys.has(key));
    if (fresh.of === undefined || left.length === 0) return [];
    return [
      {
        ...result,
        measurements: left,
        notes: left.length === result.measurements.length ? result.notes : [],
      },
    ];
  });
  return [...others, fresh].sort((a, b) => a.rows - b.rows || PARTS.indexOf(a.part) - PARTS.indexOf(b.part));
}

export function keepResult(fresh: PartResult, path = RESULTS): void {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, resultsText(merged(readResults(path), fresh)));
}

/** What is measured is not known to more digits than this, and shown to three. */
const DIGITS = 5;

/** Results as they are kept: one measurement a line. */
export function resultsText(results: readonly PartResult[]): string {
  const short = (_: string, value: unknown): unknown =>
    typeof value === 'number' && !Number.isInteger(value) ? Number(value.toPrecision(DIGITS)) : value;
  const parts = results.map(({ measurements, ...about }) => {
    const lines = measurements.map((each) => `   ${JSON.stringify(each, short)}`).join(',\n');
    return `${JSON.stringify(about, short).slice(0, -1)},\n  "measurements": [\n${lines}\n  ]}`;
  });
  return `[\n${parts.join(',\n')}\n]\n`;
}

export function machine(): string {
  const [first] = cpus();
  return `${cpus().length} × ${first?.model ?? 'unknown processor'}, ${(totalmem() / 2 ** 30).toFixed(0)} GB, ${process.platform} ${process.arch}`;
}

/** The commit, marked where the program differs from it. */
export function commit(): string {
  const git = (...words: string[]): string => execFileSync('git', words, { encoding: 'utf8' }).trim();
  try {
    const changed = git('status', '--porcelain', '--untracked-files=no', '--', 'src', 'notebooks', 'data');
    return `${git('rev-parse', '--short', 'HEAD')}${changed === '' ? '' : ' with changes'}`;
  } catch {
    return 'unknown';
  }
}
