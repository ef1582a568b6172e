import type { Foot } from '../../herd/vocabularies.ts';
import type { FootVisit } from './data.ts';

/** Something done to a foot at a visit. */
interface Deed {
  readonly foot: Foot;
  readonly footKey: string;
  readonly day: number;
  /** In which row it is drawn. */
  readonly kind: 'Separated wall' | 'Left in' | 'Treated';
  readonly deed: string;
}

const RELIEF: Readonly<Record<string, string>> = { bevel_only: 'bevelled only', relieved: 'relieved' };

/** What was done, in the order of the rows. A foot left bare, and wall left alone, is nothing done. */
export function deeds(rows: readonly FootVisit[]): Deed[] {
  return rows.flatMap(({ foot, footKey, day, at }) => {
    const done = (kind: Deed['kind'], deed: string): Deed => ({ foot, footKey, day, kind, deed });
    const relief = RELIEF[String(at.relief)];
    const protection = typeof at.protection === 'string' && at.protection !== 'bare' ? at.protection : null;
    return [
      ...(relief ? [done('Separated wall', relief)] : []),
      ...(protection ? [done('Left in', protection)] : []),
      ...(at.antifungal === 1 ? [done('Treated', 'treated for infection')] : []),
    ];
  });
}
