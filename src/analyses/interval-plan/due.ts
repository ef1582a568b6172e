import type { CivilDay } from '../../core/civil-day.ts';
import { byText } from '../../core/sort-rows.ts';
import { ROUND_ENDS_DAYS } from './options.ts';
import type { HorsePlan } from './plan.ts';

/** A plan by the calendar. */
export interface DueHorse {
  readonly plan: HorsePlan;
  readonly dueOn: CivilDay;
  /** Days past the date due; negative while it is still ahead. */
  readonly daysOver: number;
}

/** One client's horses on the round. */
export interface ClientRound {
  readonly client: string | null;
  readonly horses: readonly DueHorse[];
  /** Due within the days of the round, the overdue among them; longest overdue first. */
  readonly due: readonly DueHorse[];
  readonly overdue: number;
  readonly nextDue: CivilDay;
}

/** Whether a horse was last seen too long ago to be on the round. */
export function isLapsed(lastVisit: CivilDay, today: CivilDay): boolean {
  return today - lastVisit > ROUND_ENDS_DAYS;
}

export function dueHorse(plan: HorsePlan, today: CivilDay): DueHorse {
  const dueOn = (plan.horse.lastVisit + plan.days) as CivilDay;
  return { plan, dueOn, daysOver: today - dueOn };
}

const nameOf = ({ plan: { horse } }: DueHorse): string => horse.name ?? horse.id;

/** Longest overdue first; names decide between equals. */
function byDueDate(a: DueHorse, b: DueHorse): number {
  return b.daysOver - a.daysOver || byText(nameOf(a), nameOf(b)) || byText(a.plan.horse.id, b.plan.horse.id);
}

/** One row a client: those with most horses due first, then the earliest due, so that a round can be made from the top. */
export function roundByClient(due: readonly DueHorse[], roundDays: number): ClientRound[] {
  const clients = new Map<string | null, DueHorse[]>();
  for (const horse of due) {
    const client = horse.plan.horse.client;
    const own = clients.get(client);
    if (own) own.push(horse);
    else clients.set(client, [horse]);
  }
  const rounds = Array.from(clients, ([client, own]): ClientRound => {
    const horses = own.sort(byDueDate);
    return {
      client,
      horses,
      due: horses.filter(({ daysOver }) => daysOver >= -roundDays),
      overdue: horses.filter(({ daysOver }) => daysOver > 0).length,
      nextDue: horses[0]!.dueOn,
    };
  });
  return rounds.sort(
    (a, b) => b.due.length - a.due.length || a.nextDue - b.nextDue || byText(a.client ?? '', b.client ?? ''),
  );
}
