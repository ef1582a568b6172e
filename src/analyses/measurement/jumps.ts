import { numbers, texts } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import type { AnalysisContext, AskContext } from '../analysis.ts';
import { cycleTable, endedAsk, numberAsk } from '../cycle-table.ts';
import { CHANGE_COLUMNS } from '../growth/data.ts';
import { MEASURES } from '../growth/options.ts';
import type { ModelAnswer, ModelRows } from './model.ts';
import type { MeasurementOptions } from './options.ts';

/** A change between two readings that the foot's own growth does not explain. */
export interface Jump {
  readonly label: string;
  readonly unit: 'mm' | '°';
  readonly horse: string;
  readonly name: string | null;
  readonly foot: string;
  readonly fromDay: number;
  readonly toDay: number;
  readonly moved: number;
  readonly expected: number;
  /** Distance from what is expected, in robust SDs of all such distances. */
  readonly spreads: number;
}

export interface Jumps {
  /** The furthest first; at most `MOST_SHOWN`. */
  readonly shown: readonly Jump[];
  readonly total: number;
  /** Cycles looked at, those flagged among them. */
  readonly of: number;
}

const MOST_SHOWN = 200;

/** Where more than half the changes lie just where they are expected (numbers made up, or copied), nothing says how far is far. */
const LEAST_SPREAD = 1e-9;

export const canTellJumps = ({ robust }: Pick<ModelAnswer, 'robust'>): boolean => robust > LEAST_SPREAD;

/** Changes of routine cycles, and of those flagged because the toe came back shorter, beyond so many robust SDs. */
export async function jumpsOf(
  answer: ModelAnswer,
  { rows, residual, visitDay, nextDay }: ModelRows,
  { beyond }: MeasurementOptions,
  context: AskContext,
): Promise<Jumps> {
  const { measured, robust } = answer;
  if (!canTellJumps(answer)) return { shown: [], total: 0, of: 0 };
  const limit = beyond * robust;
  const found: Jump[] = [];
  residual.forEach((distance, row) => {
    if (!(Math.abs(distance) > limit)) return;
    const moved = rows.amount[row]!;
    found.push({
      ...labels(answer),
      horse: rows.horseIds[rows.horse[row]!]!,
      name: rows.horseNames[rows.horse[row]!] ?? null,
      foot: rows.footKeys[rows.foot[row]!]!.split(' ').at(-1)!,
      fromDay: visitDay[row]!,
      toDay: nextDay[row]!,
      moved,
      expected: moved - distance,
      spreads: distance / robust,
    });
  });
  const flagged = measured.model === 'toe' ? await flaggedShorter(answer, context) : [];
  found.push(...flagged.filter(({ spreads }) => Math.abs(spreads) > beyond));
  found.sort((a, b) => Math.abs(b.spreads) - Math.abs(a.spreads) || a.fromDay - b.fromDay);
  return { shown: found.slice(0, MOST_SHOWN), total: found.length, of: residual.length + flagged.length };
}

const labels = ({ measured: { label, unit } }: ModelAnswer): Pick<Jump, 'label' | 'unit'> => ({
  label,
  unit,
});

/** Left out of every growth figure by their flag; here the herd's mean growth stands for what was expected. */
async function flaggedShorter(answer: ModelAnswer, context: AskContext): Promise<Jump[]> {
  const { horse_name, days: daysAsk } = CHANGE_COLUMNS;
  const table = await cycleTable(context, {
    columns: {
      horse_name: horse_name!,
      days: daysAsk!,
      ended: endedAsk,
      moved: numberAsk(MEASURES.toe.column),
    },
    where: ["flag = 'toe shorter than after the trim'"],
  });
  const to = numbers(table, 'ended');
  const [days, moved] = [numbers(table, 'days'), numbers(table, 'moved')];
  const [horses, names, feet] = [
    texts(table, 'horse_id'),
    texts(table, 'horse_name'),
    texts(table, 'foot_key'),
  ];
  return Array.from(days, (d, row): Jump => {
    const expected = (answer.herdRate * d) / 30;
    return {
      ...labels(answer),
      horse: horses[row]!,
      name: names[row] ?? null,
      foot: feet[row]!.split(' ').at(-1)!,
      fromDay: to[row]! - d,
      toDay: to[row]!,
      moved: moved[row]!,
      expected,
      spreads: (moved[row]! - expected) / answer.robust,
    };
  });
}

/** A mark that seems to have moved up towards the hairline. */
export interface MarkUp {
  readonly horse: string;
  readonly name: string | null;
  readonly foot: string;
  readonly fromDay: number;
  readonly toDay: number;
  readonly movedMm: number;
}

export async function marksUp({
  engine,
  signal,
}: Pick<AnalysisContext, 'engine' | 'signal'>): Promise<MarkUp[]> {
  const table = await engine.query(
    `SELECT horse_id, horse_name, foot, visit_date, next_date, gross_growth_mm::DOUBLE AS moved
     FROM trim_cycle WHERE gross_growth_mm < 0 ORDER BY gross_growth_mm, horse_id, foot, visit_date LIMIT ${MOST_SHOWN}`,
    signal,
  );
  return Array.from(numbers(table, 'moved'), (movedMm, row) => ({
    horse: texts(table, 'horse_id')[row]!,
    name: texts(table, 'horse_name')[row] ?? null,
    foot: texts(table, 'foot')[row]!,
    fromDay: numbers(table, 'visit_date')[row]!,
    toDay: numbers(table, 'next_date')[row]!,
    movedMm,
  }));
}

/** The one cycle of a jump. `fromDay` counts from 1970-01-01. */
export function cycleWhere({ horse, foot, fromDay }: Pick<Jump, 'horse' | 'foot' | 'fromDay'>): string {
  return `horse_id = ${literal(horse)} AND "foot" = ${literal(foot)} AND visit_date = DATE '1970-01-01' + ${fromDay}`;
}
