import { type CivilDay, longDate } from '../../core/civil-day.ts';
import { isUnavailable } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import type { AskContext, Finding, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { isLevel } from '../groups.ts';
import { GROWING_OUT, GROWING_OUT_KEYS } from '../grow-out/options.ts';
import { firstDay, hasPassed, isOver, lastDay, type Projection, projected } from '../grow-out/project.ts';
import { type Standing, standingFrom, standingSql } from '../grow-out/standing.ts';
import { wearAhead } from '../grow-out/wear-ahead.ts';
import { growthForecast } from '../growth/forecast.ts';
import type { LengthWords } from '../lengths.ts';
import { estimateColumns, shownEstimate } from '../result-parts.ts';
import type { HorseRecord } from './data.ts';

/** Feet not seen for so long are not projected: as on the page of grow-out. */
const SEEN_WITHIN_DAYS = 180;

/** What stands in the wall of one horse; a projection is null where its height or its growth is not known. */
export interface GrowingOutFoot {
  readonly standing: Standing;
  readonly projection: Projection | null;
}

/** The same projections as `grow-out` makes for the whole herd (docs/methods/grow-out.md), of this horse alone. */
export async function horseGrowOut(
  { id }: HorseRecord,
  day: CivilDay,
  context: AskContext,
): Promise<GrowingOutFoot[]> {
  const standing: Standing[] = [];
  for (const problem of GROWING_OUT_KEYS) {
    const sql = standingSql(problem, id, day, SEEN_WITHIN_DAYS);
    standing.push(...standingFrom(problem, await context.engine.query(sql, context.signal)));
  }
  if (standing.length === 0) return [];
  const growth = await growthForecast(context);
  const wear = await wearAhead(context);
  return standing
    .map((one) => ({
      standing: one,
      projection: isUnavailable(growth) || !(one.distanceMm >= 0) ? null : projected(one, growth, wear),
    }))
    .filter(({ projection }) => !projection || !isOver(projection, day));
}

const known = (feet: readonly GrowingOutFoot[]): Projection[] =>
  feet.flatMap(({ projection }) => (projection ? [projection] : []));

export function growOutTable(horse: HorseRecord, feet: readonly GrowingOutFoot[]): ResultTable {
  const projections = known(feet);
  return {
    name: 'grow_out',
    title: `When what stands in the wall of ${horse.name ?? horse.id} should be grown out`,
    relation: 'foot_visit',
    columns: [
      { name: 'foot', label: 'Foot' },
      { name: 'problem', label: 'What' },
      { name: 'distance', label: 'To grow down', unit: 'mm', digits: 1 },
      { name: 'seen_on', label: 'Seen on' },
      { name: 'date_from', label: 'Grown out from' },
      { name: 'date_to', label: 'to' },
      ...shownEstimate('Days from when seen', 0),
      { name: 'n_cycles', label: 'Its own trim cycles', digits: 0 },
    ],
    table: makeTable({
      foot: textColumn(projections.map(({ standing }) => FOOT_LABELS[standing.foot as Foot])),
      problem: textColumn(projections.map(({ standing }) => GROWING_OUT[standing.problem])),
      distance: numberColumn(projections.map(({ standing }) => standing.distanceMm)),
      seen_on: dayColumn(projections.map(({ standing }) => standing.seenOn)),
      date_from: dayColumn(projections.map(firstDay)),
      date_to: dayColumn(projections.map(lastDay)),
      ...estimateColumns(projections.map(({ days }) => days)),
      n_cycles: numberColumn(projections.map(({ nCycles }) => nCycles)),
      n_visits: numberColumn(projections.map(({ standing }) => standing.nVisits)),
      behind: textColumn(projections.map(({ standing }) => isLevel('foot_key', standing.footKey))),
      behind_title: textColumn(projections.map(({ standing }) => `every visit to ${standing.footKey}`)),
    }),
  };
}

/** One sentence for all feet; what cannot be dated is named. */
export function growOutFinding(
  horse: HorseRecord,
  feet: readonly GrowingOutFoot[],
  day: CivilDay,
  words: LengthWords,
): Finding[] {
  if (feet.length === 0) return [];
  const name = ({ problem, foot }: Standing): string =>
    `${GROWING_OUT[problem]} of the ${FOOT_LABELS[foot as Foot]}`;
  const dated = known(feet).map((projection) => {
    const { standing } = projection;
    const last = lastDay(projection);
    const first = longDate(firstDay(projection));
    const when = last === null ? `not before ${first}` : `between ${first} and ${longDate(last)}`;
    return `the ${name(standing)} (${words.quantity(standing.distanceMm, 'mm', 1)} to grow down) ${when}${hasPassed(projection, day) ? ', which has passed: look whether it is clear' : ''}`;
  });
  const undated = feet.filter(({ projection }) => !projection).map(({ standing }) => `the ${name(standing)}`);
  const parts = [
    ...(dated.length > 0
      ? [`If nothing new opens above, growth should bring out ${dated.join('; ')}. `]
      : []),
    ...(undated.length > 0
      ? [`No date can be given for ${undated.join(', ')}: a height or the growth is not known. `]
      : []),
  ];
  return [
    {
      sentence: `${parts.join('')}The foot decides, not the date.`,
      caution: CAUTIONS.foot_first,
      behind: {
        relation: 'foot_visit',
        where: isLevel('horse_id', horse.id),
        title: `${horse.name ?? horse.id}, every visit`,
      },
    },
  ];
}
