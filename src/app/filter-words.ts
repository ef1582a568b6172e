import type { SheetFilter } from '../sheet/view.ts';
import type { SheetColumn } from './sheet-service.ts';

export const TEST_WORDS: Readonly<Record<SheetFilter['test'], string>> = {
  is: 'is',
  'is not': 'is not',
  contains: 'contains',
  'at least': 'is at least',
  'at most': 'is at most',
  missing: 'is missing',
  present: 'is there',
};

/** A filter as a short sentence: `Toe length before the trim is at least 80`. */
export function filterWords({ column, test, value }: SheetFilter, columns: readonly SheetColumn[]): string {
  const label = columns.find(({ name }) => name === column)?.label ?? column;
  return `${label} ${TEST_WORDS[test]}${value === null ? '' : ` ${value}`}`;
}

/** The tests that make sense for a column, the likeliest first. */
export function testsFor(kind: SheetColumn['kind']): readonly SheetFilter['test'][] {
  switch (kind) {
    case 'text':
    case 'level':
      return ['is', 'is not', 'contains', 'missing', 'present'];
    case 'boolean':
      return ['is', 'missing', 'present'];
    case 'derived':
      return ['at least', 'at most', 'is', 'is not', 'contains', 'missing', 'present'];
    default:
      return ['at least', 'at most', 'is', 'is not', 'missing', 'present'];
  }
}

export const needsValue = (test: SheetFilter['test']): boolean => test !== 'missing' && test !== 'present';
