import type { RowKey, StoredValue } from './amendment.ts';

/** Which foot on which day: no two rows of a record share it. */
export function identityOf(values: {
  readonly horse_id?: StoredValue | undefined;
  readonly visit_date?: StoredValue | undefined;
  readonly foot?: StoredValue | undefined;
}): string {
  return `${values.horse_id}|${values.visit_date}|${values.foot}`;
}

/** The name of a new row: its horse, day and foot, numbered where a row that was moved away bears that name. */
export function newRowKey(identity: string, isTaken: (key: RowKey) => boolean): RowKey {
  let key = identity;
  for (let number = 2; isTaken(key); number += 1) key = `${identity} ${number}`;
  return key;
}
