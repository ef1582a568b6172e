import { uniqueName } from './file-names.ts';
import type { HerdMethods, Inspection } from './herd-service.ts';
import type { Keeping } from './keeping.ts';
import type { WorkOptions } from './open-records.ts';
import type { Caller } from './rpc.ts';

interface LookedOver {
  readonly inspections: readonly Inspection[];
  readonly refusals: readonly string[];
}

/** Files that the worker has looked over and not yet admitted, by the names it knows them by. */
export interface FilesLookedOver {
  /** Rejects with the reasons where none of them can be read. */
  look(files: readonly File[], options: WorkOptions): Promise<LookedOver>;
  all(): readonly File[];
  named(name: string): File;
}

export function makeLookedOver(herd: Caller<HerdMethods>, keeping: Keeping): FilesLookedOver {
  let chosen: ReadonlyMap<string, File> = new Map();
  return {
    async look(files, options) {
      const inputs = await Promise.all(
        files.map(async (file, k) => ({
          name: uniqueName(files, k),
          bytes: new Uint8Array(await file.arrayBuffer()),
          file,
        })),
      );
      const { inspections, refusals } = await herd.call(
        'inspect',
        { files: inputs, remembered: keeping.study.value.mappings },
        { ...options, transfer: inputs.map((input) => input.bytes.buffer) },
      );
      if (inspections.length === 0) throw new Error(refusals.join('\n'));
      chosen = new Map(files.map((file, k) => [uniqueName(files, k), file]));
      return { inspections, refusals };
    },
    all: () => [...chosen.values()],
    named(name) {
      const file = chosen.get(name);
      if (!file) throw new Error(`file must be one that was looked over: ${name}`);
      return file;
    },
  };
}
