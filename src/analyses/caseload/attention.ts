import { problemLabel } from '../../herd/problems.ts';
import { counted } from '../format.ts';
import type { Standing } from './standing.ts';

/** Why a horse needs attention, in the order in which reasons are told. */
export const KINDS = {
  tender: 'A tender foot',
  severe: 'A severe problem',
  worse: 'Worse than at the visit before',
  back: 'Back after a clear visit',
  overdue: 'Past its date',
  due: 'Falls due within days',
} as const;
export type Kind = keyof typeof KINDS;

export interface Due {
  readonly day: number;
  /** Days past it; negative while it is ahead. */
  readonly daysOver: number;
}

export interface Attention {
  readonly horseId: string;
  readonly kinds: readonly Kind[];
  /** In words, one a reason. */
  readonly reasons: readonly string[];
  readonly mostGrade: number;
  readonly due: Due | null;
}

const SEVERE = 3;

/**
 * The reasons of one horse; null without any. Tender: tenderness of any grade. Severe: another problem of grade 3. Worse:
 * a higher grade than at the graded visit before, at which it was there. Back: clear then, and there at some visit before.
 */
export function attentionOf(
  horseId: string,
  standing: readonly Standing[],
  due: Due | null,
  withinDays: number,
): Attention | null {
  const date = dateReason(due, withinDays);
  const told = standing
    .map((one) => ({ one, kinds: kindsOf(one) }))
    .filter(({ kinds }) => kinds.length > 0)
    .sort((a, b) => b.one.grade - a.one.grade || b.kinds.length - a.kinds.length);
  if (told.length === 0 && !date) return null;
  const found = new Set<Kind>([...told.flatMap(({ kinds }) => kinds), ...(date ? [date.kind] : [])]);
  return {
    horseId,
    kinds: (Object.keys(KINDS) as Kind[]).filter((kind) => found.has(kind)),
    reasons: [...(date ? [date.words] : []), ...told.map(({ one, kinds }) => reasonWords(one, kinds))],
    mostGrade: Math.max(0, ...standing.map(({ grade }) => grade)),
    due,
  };
}

function kindsOf({ problem, grade, before, wasThere }: Standing): Kind[] {
  return [
    ...(problem === 'tenderness' ? ['tender' as const] : []),
    ...(problem !== 'tenderness' && grade >= SEVERE ? ['severe' as const] : []),
    ...(before !== null && before >= 1 && grade > before ? ['worse' as const] : []),
    ...(before === 0 && wasThere ? ['back' as const] : []),
  ];
}

/** `severe crack LF, worse (1 to 3)`, `tender RH (grade 1), back` */
function reasonWords({ problem, foot, grade, before }: Standing, kinds: readonly Kind[]): string {
  const what =
    problem === 'tenderness'
      ? `tender ${foot} (grade ${grade})`
      : `${grade >= SEVERE ? 'severe ' : ''}${problemLabel(problem)} ${foot}`;
  const worse = kinds.includes('worse') ? `, worse (${before} to ${grade})` : '';
  return `${what}${worse}${kinds.includes('back') ? ', back' : ''}`;
}

function dateReason(due: Due | null, withinDays: number): { kind: Kind; words: string } | null {
  if (!due || due.daysOver < -withinDays) return null;
  if (due.daysOver > 0) {
    return { kind: 'overdue', words: `${counted(due.daysOver, 'day', 'days')} overdue` };
  }
  const words = due.daysOver === 0 ? 'due today' : `due in ${counted(-due.daysOver, 'day', 'days')}`;
  return { kind: 'due', words };
}

/** Most kinds of reason first, then the highest grade, then the longest past its date, then by id. */
export function byUrgency(a: Attention, b: Attention): number {
  const over = ({ due }: Attention): number => due?.daysOver ?? Number.NEGATIVE_INFINITY;
  return (
    b.kinds.length - a.kinds.length ||
    b.mostGrade - a.mostGrade ||
    (over(a) === over(b) ? 0 : over(b) - over(a)) ||
    (a.horseId < b.horseId ? -1 : 1)
  );
}
