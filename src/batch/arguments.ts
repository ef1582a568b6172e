import { parseArgs } from 'node:util';

export const USAGE = `usage: npm run audit -- FILE... --out DIR [--dates day-first|month-first] [--south]

FILE    visit records and, where there is one, the file of horses: CSV or Parquet
--out   folder for the results; made where it is not there
--dates how to read dates that fit both orders
--south seasons of the southern hemisphere

exit status: 0 done, 2 the input cannot be used`;

export interface AuditArguments {
  readonly files: readonly string[];
  readonly out: string;
  readonly dates: 'day-first' | 'month-first' | null;
  readonly hemisphere: 'north' | 'south';
}

/** The input, or what was asked for, cannot be used: ends with status 2. */
export class UnusableInput extends Error {
  override readonly name = 'UnusableInput';
}

/** Reads the command line. Throws `UnusableInput` with what is wrong; null where help was asked for. */
export function auditArguments(words: readonly string[]): AuditArguments | null {
  let parsed: ReturnType<typeof parse>;
  try {
    parsed = parse(words);
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\n\n${USAGE}`);
  }
  const { values, positionals: files } = parsed;
  if (values.help) return null;
  if (files.length === 0) throw new UnusableInput(`name at least one file of visit records\n\n${USAGE}`);
  if (!values.out) throw new UnusableInput(`say where the results go with --out DIR\n\n${USAGE}`);
  const { dates } = values;
  if (dates !== undefined && dates !== 'day-first' && dates !== 'month-first') {
    throw new UnusableInput(`--dates must be day-first or month-first: ${dates}`);
  }
  return { files, out: values.out, dates: dates ?? null, hemisphere: values.south ? 'south' : 'north' };
}

function parse(words: readonly string[]) {
  return parseArgs({
    args: [...words],
    allowPositionals: true,
    options: {
      out: { type: 'string' },
      dates: { type: 'string' },
      south: { type: 'boolean', default: false },
      help: { type: 'boolean', short: 'h', default: false },
    },
  });
}
