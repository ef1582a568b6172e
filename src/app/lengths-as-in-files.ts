import { columnOf } from '../herd/dictionary.ts';
import type { Mapping } from '../intake/mapping.ts';
import type { Keeping } from './keeping.ts';
import { LENGTHS, saveLengths } from './lengths-setting.ts';

/** Inches for someone whose files are in inches and who has not chosen; what was chosen stands. */
export async function lengthsAsInFiles(
  keeping: Pick<Keeping, 'study' | 'saveSetting'>,
  mappings: readonly Mapping[],
): Promise<void> {
  if (keeping.study.value.settings[LENGTHS] !== undefined) return;
  const units = mappings.flatMap(({ columns }) =>
    columns.flatMap(({ target, unit }) =>
      target !== null && columnOf(target).kind === 'length' && unit !== null ? [unit] : [],
    ),
  );
  const inInches = units.filter((unit) => unit === 'in').length;
  if (inInches > units.length / 2) await saveLengths(keeping, 'in');
}
