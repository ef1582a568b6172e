import type { HerdTables } from '../analyses/load-herd.ts';
import { dayColumn, makeTable, textColumn } from '../core/table.ts';

/** A record without rows, to write the first visit in. */
export function emptyHerd(): HerdTables {
  return {
    visits: makeTable({ horse_id: textColumn([]), visit_date: dayColumn([]), foot: textColumn([]) }),
    horses: makeTable({ horse_id: textColumn([]) }),
  };
}
