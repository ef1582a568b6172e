import { PROBLEMS } from '../herd/problems.ts';
import type { Mapping } from './mapping.ts';

/** What the pages will lack for want of a column, a sentence each. Nothing here keeps a file from being read. */
export function mappingGaps({ kind, columns }: Mapping): string[] {
  if (kind === 'horses') return [];
  const targets = new Set<string | null>(columns.map((c) => c.target));
  const gaps: string[] = [];
  const before = targets.has('toe_before_mm');
  const after = targets.has('toe_after_mm');
  if (!before && !after) gaps.push('No toe length was found: growth will have nothing to show.');
  else if (!before || !after) {
    const missing = before ? 'after' : 'before';
    gaps.push(
      `No toe length ${missing} the trim was found: growth needs it before and after, and will have nothing to show.`,
    );
  }
  const lacking = PROBLEMS.filter(({ column }) => !targets.has(column));
  if (lacking.length === PROBLEMS.length) {
    gaps.push(
      'No grade of a problem was found: return of problems and trim interval will have nothing to show.',
    );
  } else if (lacking.some(({ key }) => MAIN.includes(key))) {
    const names = lacking.filter(({ key }) => MAIN.includes(key)).map(({ label }) => label);
    gaps.push(
      `No grade of ${names.join(' or ')} was found: the pages will have nothing to show about ${names.length > 1 ? 'them' : 'it'}.`,
    );
  }
  return gaps;
}

/** Cracks and tenderness are not graded by everyone. */
const MAIN: readonly string[] = ['separation', 'frog_infection', 'wall_infection'];
