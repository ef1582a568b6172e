import type { EntryResult } from './entry-state.ts';
import { tablesEqual } from './tables-equal.ts';

/** Nothing that reads an entry could tell these two results of it apart: of a query its table, of a choice its value. */
export function sameForReaders(before: EntryResult | null, after: EntryResult): boolean {
  if (before?.kind === 'query' && after.kind === 'query')
    return before.unanswered === after.unanswered && tablesEqual(before.table, after.table);
  if (before?.kind === 'choice' && after.kind === 'choice') return before.value === after.value;
  return false;
}
