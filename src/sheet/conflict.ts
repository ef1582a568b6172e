import type { Amendment, StoredValue } from './amendment.ts';

/** Amendments that do not fit a newer export of the same file. */
export interface Conflict {
  readonly amendment: Amendment;
  readonly reason: 'row is gone' | 'value has changed' | 'row is there already';
  readonly found: StoredValue;
}
