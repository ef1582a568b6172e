import { parseArgs } from 'node:util';

export const USAGE = `usage: npm run audit -- FILE... --out DIR [--dates day-first|month-first] [--south]
       npm run audit -- FOLDER --out DIR [--engine native|wasm] [--memory 2GB] [--room DIR] [...]

FILE     visit records and, where there is one, the file of horses: CSV or Parquet
FOLDER   such files in folders named after what they hold: practice=Ouzel/year=2024/part-0.parquet
--out    folder for the results; made where it is not there
--dates  how to read dates that fit both orders
--south  seasons of the southern hemisphere
--engine the database that answers: wasm, as in the browser, or native where @duckdb/node-api is installed;
         left out, native for a folder where it is installed
--memory what the native engine may hold in memory (1.5GB, 800MB); the rest it keeps on disk
--room   folder for what it keeps there meanwhile; left out, the system's own for temporary files

exit status: 0 done, 2 the input cannot be used`;

export interface AuditArguments {
  readonly files: readonly string[];
  readonly out: string;
  readonly dates: 'day-first' | 'month-first' | null;
  readonly hemisphere: 'north' | 'south';
  /** Null: whichever suits. */
  readonly engine: 'native' | 'wasm' | null;
  readonly memory: string | null;
  readonly room: string | null;
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
  const { engine, memory, room } = values;
  if (engine !== undefined && engine !== 'native' && engine !== 'wasm') {
    throw new UnusableInput(`--engine must be native or wasm: ${engine}`);
  }
  if (memory !== undefined && !/^\d+(\.\d+)?(MB|GB)$/.test(memory)) {
    throw new UnusableInput(`--memory must be a number of MB or GB, such as 2GB: ${memory}`);
  }
  return {
    files,
    out: values.out,
    dates: dates ?? null,
    hemisphere: values.south ? 'south' : 'north',
    engine: engine ?? null,
    memory: memory ?? null,
    room: room ?? null,
  };
}

function parse(words: readonly string[]) {
  return parseArgs({
    args: [...words],
    allowPositionals: true,
    options: {
      out: { type: 'string' },
      dates: { type: 'string' },
      south: { type: 'boolean', default: false },
      engine: { type: 'string' },
      memory: { type: 'string' },
      room: { type: 'string' },
      help: { type: 'boolean', short: 'h', default: false },
    },
  });
}
