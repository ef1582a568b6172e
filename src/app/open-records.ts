import { localToday } from '../core/civil-day.ts';
import { makeTable } from '../core/table.ts';
import { COHORT_COLUMNS, type CohortColumn } from './cohort-choice.ts';
import type { AdmitResult, HerdMethods, Level } from './herd-service.ts';
import type { Caller, Stage } from './rpc.ts';
import type { KeptRecords } from './store/kept.ts';

export interface WorkOptions {
  readonly signal: AbortSignal;
  progress(stage: Stage): void;
}

/** Reads kept records again, each file by the mapping it was read by before. */
export function readRecords(
  herd: Caller<HerdMethods>,
  records: KeptRecords,
  options: WorkOptions,
): Promise<AdmitResult> {
  return records.files.length === 0
    ? blank(herd, records.hemisphere, options)
    : readAgain(herd, records, options);
}

async function readAgain(
  herd: Caller<HerdMethods>,
  { files, hemisphere }: KeptRecords,
  { signal, progress }: WorkOptions,
): Promise<AdmitResult> {
  const inputs = await Promise.all(
    files.map(async ({ name, bytes }) => ({
      name,
      bytes: new Uint8Array(await bytes.arrayBuffer()),
      file: bytes,
    })),
  );
  await herd.call(
    'inspect',
    { files: inputs, remembered: [] },
    {
      signal,
      progress: ({ fraction, stage }) => progress({ fraction: fraction * 0.4, stage }),
      transfer: inputs.map((input) => input.bytes.buffer),
    },
  );
  return herd.call(
    'admit',
    { files: files.map(({ name, mapping }) => ({ file: name, mapping })), add: false, hemisphere },
    { signal, progress: ({ fraction, stage }) => progress({ fraction: 0.4 + fraction * 0.5, stage }) },
  );
}

/** A blank record, to write the first visit in. */
export async function blank(
  herd: Caller<HerdMethods>,
  hemisphere: KeptRecords['hemisphere'],
  options: WorkOptions,
): Promise<AdmitResult> {
  const counts = await herd.call('startBlank', { hemisphere }, options);
  const levels = Object.fromEntries(Object.keys(COHORT_COLUMNS).map((column) => [column, []]));
  return {
    books: [],
    notices: [],
    setAside: makeTable({}),
    asOf: localToday(),
    summary: { counts, levels: levels as unknown as Record<CohortColumn, readonly Level[]> },
  };
}
