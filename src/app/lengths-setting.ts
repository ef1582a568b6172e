import { computed, type ReadonlySignal } from '@preact/signals';
import type { ShownLength } from '../analyses/lengths.ts';
import type { Keeping } from './keeping.ts';

/** Under which name the setting is kept. */
export const LENGTHS = 'lengths';

/** In which unit the user reads lengths: kept with the other settings, and good for this tab where nothing is kept. */
export function lengthsSetting(keeping: Pick<Keeping, 'study'>): ReadonlySignal<ShownLength> {
  return computed(() => (keeping.study.value.settings[LENGTHS] === 'in' ? 'in' : 'mm'));
}

export function saveLengths(keeping: Pick<Keeping, 'saveSetting'>, shown: ShownLength): Promise<void> {
  return keeping.saveSetting(LENGTHS, shown);
}
