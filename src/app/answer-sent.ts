import type { ResultTable } from '../analyses/analysis.ts';
import { withTexts } from '../core/sent-texts.ts';

/** An answer, or a draft of one, that has come from another thread, with its texts as they were there. */
export const asAnswered = <T extends { readonly tables: readonly ResultTable[] }>(sent: T): T => ({
  ...sent,
  tables: sent.tables.map((each) => ({ ...each, table: withTexts(each.table) })),
});
