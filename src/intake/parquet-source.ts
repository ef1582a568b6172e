import type { OpenOptions, Source } from './source.ts';
export async function openParquet(_name: string, _bytes: Uint8Array, _options: OpenOptions): Promise<Source> {
  throw new Error('not yet');
}
