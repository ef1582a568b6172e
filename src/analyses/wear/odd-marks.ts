import { makeTable, numberColumn, numbers, type Table, textColumn, texts } from '../../core/table.ts';
import { NEGATIVE_REGROWTH_MM } from '../../herd/trim-cycle-sql.ts';
import type { Finding, ResultTable } from '../analysis.ts';
import { counted, figure, horsesText } from '../format.ts';
import { allOf } from '../groups.ts';
import type { LengthWords } from '../lengths.ts';
import { behindColumns } from '../result-parts.ts';

/** By this much two readings may differ without anything being wrong with them (common practice). */
const READINGS_DIFFER_MM = -NEGATIVE_REGROWTH_MM;
/** No wall is known to grow faster than a foal's, about 15 mm a month (common practice). */
const FASTEST_MM_PER_DAY = 0.5;

interface Kind {
  readonly words: string;
  readonly sql: string;
  holds(grossMm: number, netMm: number, days: number): boolean;
}

/** What a mark cannot do, each beyond what readings may differ. */
const KINDS: readonly Kind[] = [
  {
    words: 'moved up',
    sql: `gross_growth_mm < ${-READINGS_DIFFER_MM}`,
    holds: (gross) => gross < -READINGS_DIFFER_MM,
  },
  {
    words: 'moved down less than the toe grew',
    sql: `gross_growth_mm >= ${-READINGS_DIFFER_MM} AND gross_growth_mm - toe_regrowth_mm < ${-READINGS_DIFFER_MM}`,
    holds: (gross, net) => gross >= -READINGS_DIFFER_MM && gross - net < -READINGS_DIFFER_MM,
  },
  {
    words: 'moved down faster than a wall grows',
    sql: `gross_growth_mm > ${FASTEST_MM_PER_DAY} * days + ${READINGS_DIFFER_MM} AND gross_growth_mm - toe_regrowth_mm >= ${-READINGS_DIFFER_MM}`,
    holds: (gross, net, days) =>
      gross > FASTEST_MM_PER_DAY * days + READINGS_DIFFER_MM && gross - net >= -READINGS_DIFFER_MM,
  },
];

/** Trim cycles whose mark did what no mark can. They are counted with the others: nothing is left out in silence. */
interface OddMarks {
  readonly words: string;
  readonly cycles: number;
  readonly horses: number;
  readonly where: string;
}

export function oddMarks(table: Table, where: string): OddMarks[] {
  const [gross, net, days] = [numbers(table, 'gross'), numbers(table, 'net'), numbers(table, 'days')];
  const horse = texts(table, 'horse_id');
  return KINDS.map(({ words, sql, holds }) => {
    const horses = new Set<string | null>();
    let cycles = 0;
    gross.forEach((mm, row) => {
      if (!holds(mm, net[row]!, days[row]!)) return;
      cycles += 1;
      horses.add(horse[row]!);
    });
    return { words, cycles, horses: horses.size, where: allOf(where, sql) };
  });
}

export function oddMarksTable(odd: readonly OddMarks[]): ResultTable {
  return {
    name: 'odd_marks',
    title: 'Marks to look at again',
    relation: 'trim_cycle',
    columns: [
      { name: 'what', label: 'The mark' },
      { name: 'n_horses', label: 'Horses', digits: 0 },
      { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
    ],
    table: makeTable({
      what: textColumn(odd.map(({ words }) => words)),
      n_horses: numberColumn(odd.map(({ horses }) => horses)),
      n_cycles: numberColumn(odd.map(({ cycles }) => cycles)),
      ...behindColumns(odd.map(({ words, where }) => ({ where, title: `trim cycles whose mark ${words}` }))),
    }),
  };
}

export function oddMarksFindings(odd: readonly OddMarks[], all: number, words: LengthWords): Finding[] {
  return odd
    .filter(({ cycles }) => cycles > 0)
    .map(({ words: what, cycles, horses, where }) => ({
      sentence: `In ${figure(cycles)} of ${counted(all, 'trim cycle', 'trim cycles')} with a mark (${horsesText(horses)}) the mark ${what}, by more than two readings may differ (${words.quantity(READINGS_DIFFER_MM, 'mm', 0)}), which cannot be: look at the mark. It is counted as it stands.`,
      caution: null,
      behind: { relation: 'trim_cycle', where, title: `trim cycles whose mark ${what}` },
    }));
}
