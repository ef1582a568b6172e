import { quoteName } from '../../engine/sql-text.ts';
import { type AskContext, remembered } from '../analysis.ts';
import { cycleColumns } from '../cycle-columns.ts';
import { groupAsk, numberAsk } from '../cycle-table.ts';
import type { Coded } from '../groups.ts';
import { type CohortVisits, cohortVisits } from '../visit-rows.ts';
import type { Measured } from './options.ts';

/** A column of readings by its different values, which are few: columns of them are kept for every measure. */
export interface Readings {
  /** The first is NaN: not read. */
  readonly values: Float64Array;
  /** Of each visit the place of its reading among them. */
  readonly places: Uint16Array | Uint32Array;
}

/** Visits of the cohort with whoever wrote them. */
export interface WrittenVisits {
  readonly visits: CohortVisits;
  readonly reader: Coded;
}

export async function writtenVisits(context: AskContext): Promise<WrittenVisits> {
  const visits = await cohortVisits(context, [groupAsk('practitioner_id')]);
  return { visits, reader: visits.columns[0] as Coded };
}

/** Readings of the columns of one measure, by the rows of `visits`; of the whole herd where they can be kept. */
export function readingsOf(
  { columns }: Measured,
  visits: CohortVisits,
  { engine, signal, remember, rememberHerd }: AskContext,
): Promise<Readings[]> {
  const of = rememberHerd ? 'foot_visit_all' : 'cohort_visit';
  const keeping = { remember: rememberHerd ?? remember };
  return remembered(keeping, `readings of ${of} ${columns.join(' ')}`, async () => {
    const asks = columns.map((column) => numberAsk(quoteName(column)));
    const found = await cycleColumns({ engine, signal, of, remember: undefined }, visits, asks);
    return found.map((column) => byValue(column as Float64Array));
  });
}

export const readingAt = ({ values, places }: Readings, row: number): number => values[places[row]!]!;

/** Places that fit in two bytes are kept so. */
const MOST_SHORT = 2 ** 16;
/** Where a value is looked for first: by its hundredths, of which those of readings seldom meet. */
const DRAWERS = 2 ** 15;

function byValue(column: Float64Array): Readings {
  const values = [Number.NaN];
  const known = new Map<number, number>();
  const drawers = new Int32Array(DRAWERS);
  const places = new Uint32Array(column.length);
  for (let row = 0; row < column.length; row++) {
    const value = column[row]!;
    if (Number.isNaN(value)) continue;
    const drawer = Math.round(value * 100) & (DRAWERS - 1);
    if (values[drawers[drawer]!] !== value) {
      let place = known.get(value);
      if (place === undefined) {
        place = values.push(value) - 1;
        known.set(value, place);
      }
      drawers[drawer] = place;
    }
    places[row] = drawers[drawer]!;
  }
  return {
    values: Float64Array.from(values),
    places: values.length <= MOST_SHORT ? Uint16Array.from(places) : places,
  };
}
