import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { type Combined, combine } from '../../src/intake/combine.ts';
import type { Mapping } from '../../src/intake/mapping.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { readSource } from '../../src/intake/read.ts';

export const TODAY = dayFromIso('2026-11-25') as CivilDay;

export interface NamedText {
  readonly name: string;
  readonly text: string | Uint8Array;
}

export function bytesOf(text: string | Uint8Array): Uint8Array {
  return typeof text === 'string' ? new TextEncoder().encode(text) : text;
}

/** Files through the whole of intake, by the mapping proposed (changed by `amend`). */
export async function admit(
  files: readonly NamedText[],
  amend: (mapping: Mapping) => Mapping = (mapping) => mapping,
): Promise<Combined> {
  const reads = [];
  for (const { name, text } of files) {
    const { source, mapping } = await inspectFile({ name, bytes: bytesOf(text) });
    reads.push(await readSource(source, amend(mapping), { today: TODAY }));
  }
  return combine(reads);
}

export function admitText(
  text: string | Uint8Array,
  amend?: (mapping: Mapping) => Mapping,
): Promise<Combined> {
  return admit([{ name: 'visits.csv', text }], amend);
}

export async function mappingOf(text: string): Promise<Mapping> {
  return (await inspectFile({ name: 'visits.csv', bytes: bytesOf(text) })).mapping;
}
