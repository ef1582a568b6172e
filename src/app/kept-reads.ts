import type { CivilDay } from '../core/civil-day.ts';
import type { Mapping } from '../intake/mapping.ts';
import { inspectFile } from '../intake/open.ts';
import { type Read, readSource } from '../intake/read.ts';
import { onlyLines } from '../intake/some-rows.ts';
import type { Source } from '../intake/source.ts';

/** A file that was opened; of a large one its cells are let go of once its rows stand, and read again where they are wanted. */
export interface OpenedFile {
  /** Its cells are not in memory. */
  readonly isLight: boolean;
  source(): Promise<Source>;
  /** The same, to be kept while the herd stands. */
  lightened(): OpenedFile;
}

/** A file read by its mapping, as it is kept while the herd stands. */
export interface KeptRead {
  readonly kind: Read['kind'];
  readonly mapping: Mapping;
  /** At least the rows that were set aside. */
  readonly source: Source;
  readonly opened: OpenedFile;
  whole(): Promise<Read>;
}

/** `file` is the file itself, where it is to be read again rather than kept. */
export function openedFile(source: Source, file: Blob | undefined): OpenedFile {
  const whole: OpenedFile = {
    isLight: false,
    source: async () => source,
    lightened: () => (file ? lightFile(source.file, file) : whole),
  };
  return whole;
}

/** A scope of its own: what is kept must not hold on to the cells. */
function lightFile(name: string, file: Blob): OpenedFile {
  const light: OpenedFile = {
    isLight: true,
    async source() {
      const bytes = await file.arrayBuffer().catch(() => {
        throw new Error(
          `${name} can no longer be read: it was changed, moved or taken away since it was opened. Choose it again.`,
        );
      });
      return (await inspectFile({ name, bytes: new Uint8Array(bytes) })).source;
    },
    lightened: () => light,
  };
  return light;
}

/** `lines` are those of the rows that were set aside. */
export function keptRead(
  read: Read,
  opened: OpenedFile,
  lines: ReadonlySet<number> | undefined,
  today: CivilDay,
): KeptRead {
  const { kind, mapping, source } = read;
  if (!opened.isLight) return { kind, mapping, source, opened, whole: async () => read };
  return lightRead(kind, mapping, onlyLines(source, lines ?? new Set()), opened, today);
}

function lightRead(
  kind: Read['kind'],
  mapping: Mapping,
  source: Source,
  opened: OpenedFile,
  today: CivilDay,
): KeptRead {
  const { file } = source;
  return {
    kind,
    mapping,
    source,
    opened,
    whole: async () => readSource({ ...(await opened.source()), file }, mapping, { today }),
  };
}
