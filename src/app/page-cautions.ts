import { CAUTIONS, type CautionKey } from '../analyses/cautions.ts';
import type { Page } from '../pages/page.ts';

/** The sentences that belong to a page, and to the demo herd. */
export function cautionsOf({ front }: Page, isDemo: boolean): string[] {
  const known = front.cautions.filter((key): key is CautionKey => key in CAUTIONS);
  const keys: CautionKey[] = isDemo ? ['demo', ...known] : known;
  return keys.map((key) => CAUTIONS[key]);
}
