import type { Year } from './answer.ts';
import type { Looks } from './data.ts';
import type { Span } from './horse-years.ts';
import { type MonthSums, rateOf } from './monthly.ts';
import type { Months } from './months.ts';
import type { TrendOptions } from './options.ts';

/** The latest twelve whole months (fewer where the record is shorter), and the twelve before where on record. */
export function spansOf(looks: Looks, months: Months): (Span & Pick<Year, 'which'>)[] {
  const last = looks.to.reduce((most, day) => Math.max(most, day), Number.NEGATIVE_INFINITY);
  // The month of the last visit is whole where that was its last day.
  const whole = last + 1 === months.starts[months.count] ? months.count : months.count - 1;
  const end = whole === 0 ? months.count : whole;
  return [
    { which: 'latest' as const, first: Math.max(0, end - 12), end },
    { which: 'before' as const, first: end - 24, end: end - 12 },
  ].filter(({ first }) => first >= 0);
}

/** The rates of those months, of each level. */
export function yearsOf(
  looks: Looks,
  months: Months,
  sums: MonthSums,
  levels: readonly string[],
  dispersion: number,
  { dating }: TrendOptions,
): Year[] {
  const isWhole = levels.length === 1 && sums.spread.length === months.count && levels[0] === 'all';
  const cases = dating === 'spread' ? sums.spread : sums.byVisit;
  const spans = spansOf(looks, months);
  return levels.flatMap((level, at) =>
    spans.flatMap((span): Year[] => {
      const base = at * months.count;
      const rate = rateOf(
        total(cases, base + span.first, base + span.end),
        total(sums.clearDays, base + span.first, base + span.end),
        dispersion,
      );
      return rate
        ? [
            {
              level,
              ...span,
              rate,
              counts: countsIn(looks, months, span, isWhole ? null : at),
            },
          ]
        : [];
    }),
  );
}

function total(values: Float64Array, from: number, end: number): number {
  return values.subarray(from, end).reduce((sum, value) => sum + value, 0);
}

function countsIn(
  looks: Looks,
  months: Months,
  { first, end }: { first: number; end: number },
  level: number | null,
) {
  const [from, to] = [months.starts[first]!, months.starts[end]!];
  const counts = { horses: 0, feet: 0, cycles: 0 };
  // Looks come by horse and foot.
  let [horse, foot] = [-1, -1];
  for (let i = 0; i < looks.from.length; i += 1) {
    if (level !== null && looks.level[i] !== level) continue;
    if (looks.to[i]! < from || looks.from[i]! >= to) continue;
    if (looks.horse[i] !== horse) counts.horses += 1;
    if (looks.foot[i] !== foot) counts.feet += 1;
    [horse, foot] = [looks.horse[i]!, looks.foot[i]!];
    counts.cycles += 1;
  }
  return counts;
}
