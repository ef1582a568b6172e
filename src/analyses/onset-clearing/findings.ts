import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { comparable, comparableLevels, fewHorses } from '../few-horses.ts';
import { countsText, figure, horsesText, interval95, percent, quantity, shareInterval95 } from '../format.ts';
import { groupingName, groupingWords } from '../groups.ts';
import { shownRatio } from '../shown-ratio.ts';
import { cyclesTitle, levelWhere, type OnsetAnswer, type RatioRow } from './answer.ts';
import { heldAlike } from './data.ts';
import type { Comparison } from './fits.ts';
import { MEASURED, measured } from './tables.ts';

/** The sentences; figures as the tables show them. */
export function onsetFindings(answer: OnsetAnswer, ratios: readonly RatioRow[]): Finding[] {
  return [
    ...headline(answer),
    ...runsFrom(answer, 0),
    ...runsFrom(answer, 1),
    ...(answer.options.by === 'none' ? [] : fewHorses(answer.options.by, levelsOf(answer), null)),
    ...strongest(answer, ratios),
    ...limits(answer, ratios),
  ];
}

function headline({ options, levels }: OnsetAnswer): Finding[] {
  const whole = levels[0]!;
  if (isUnavailable(whole.summary)) return [];
  const [onset, , spell, share] = MEASURED.map((measure) => measured(whole.summary as never, measure));
  const label = problemLabel(options.problem);
  return [
    {
      sentence: `In a clear foot ${label} began an estimated ${figure(onset!.estimate, 2)} times a year (${interval95(onset!.low, onset!.high, 2)}), and once there it lasted ${quantity(spell!.estimate, 'days')} on average (${interval95(spell!.low, spell!.high)}), allowing for what began or cleared between visits. If those rates stayed as they are, ${percent(share!.estimate, 1)} of feet would have it in the long run (${shareInterval95(share!.low, share!.high, 1)}). From ${countsText(whole.seen)}.`,
      caution: CAUTIONS.between_visits,
      behind: {
        relation: 'trim_cycle',
        where: levelWhere(options, null),
        title: cyclesTitle(options, 'all horses'),
      },
    },
  ];
}

/** The levels compared, with their horses. */
const levelsOf = ({ levels }: OnsetAnswer) =>
  levels.flatMap(({ level, seen }) => (level === null ? [] : [{ level, counts: { horses: seen.horses } }]));

/** The least and the most of one rate among the levels, each from its own rows. */
function runsFrom({ options, levels }: OnsetAnswer, which: 0 | 1): Finding[] {
  const { by } = options;
  if (by === 'none') return [];
  const measure = MEASURED[which];
  const told = levels.flatMap(({ level, summary, seen }) =>
    level === null || isUnavailable(summary)
      ? []
      : [{ level, counts: { horses: seen.horses }, seen, ...measured(summary, measure) }],
  );
  if (comparable(told).length < 2) return [];
  const sorted = comparable(told).sort((a, b) => a.estimate - b.estimate);
  const [least, most] = [sorted[0]!, sorted.at(-1)!];
  const words = ({ level, estimate, low, high, seen }: typeof least): string =>
    `${level} ${figure(estimate, 2)} (${interval95(low, high, 2)}, ${horsesText(seen.horses)})`;
  return [
    {
      sentence: `By ${groupingName(by)}, as recorded, ${measure.term} of ${problemLabel(options.problem)} ${measure.unit} runs from ${words(least)} to ${words(most)}; ${most.low > least.high ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.record,
      behind: {
        relation: 'trim_cycle',
        where: levelWhere(options, most.level),
        title: cyclesTitle(options, most.level),
      },
    },
  ];
}

/** The adjusted onset ratio furthest from 1, beside the crude one. */
function strongest(answer: OnsetAnswer, all: readonly RatioRow[]): Finding[] {
  const { options } = answer;
  const { by } = options;
  const enough = comparableLevels(levelsOf(answer));
  const ratios = all.filter((row) => enough(row.level) && enough(row.reference));
  if (by === 'none') return [];
  const told = ratios.filter((row) => row.rate === 'onset' && row.estimate !== null);
  const adjusted = told.filter((row) => row.comparison === 'adjusted');
  if (adjusted.length === 0) return [];
  const size = (row: RatioRow): number => Math.abs(Math.log(row.estimate!));
  const most = adjusted.reduce((a, b) => (size(b) > size(a) ? b : a));
  const crude = told.find((row) => row.comparison === 'crude' && row.level === most.level);
  const others = heldAlike(options).filter((grouping) => grouping !== by);
  const reading =
    most.low! > 1 || most.high! < 1
      ? 'the interval leaves out 1'
      : 'the interval holds 1, so it may be no different';
  return [
    {
      sentence: `${others.length > 0 ? `With ${groupingWords(others)} held alike, onset` : 'Onset'} where ${groupingName(by)} is ${most.level} ran at an estimated ${figure(most.estimate!, 2)} times the rate where it is ${most.reference} (${interval95(most.low!, most.high!, 2)})${crude ? `, against ${figure(crude.estimate!, 2)} as recorded (${interval95(crude.low!, crude.high!, 2)})` : ''}; ${reading}. Of the levels this is the one furthest from ${most.reference}.`,
      caution: CAUTIONS.record,
      behind: {
        relation: 'trim_cycle',
        where: most.where,
        title: cyclesTitle(options, `${most.level} and ${most.reference}`),
      },
    },
  ];
}

/** Levels in which nothing was seen: bounded from one side, never called free of risk. */
function limits(answer: OnsetAnswer, ratios: readonly RatioRow[]): Finding[] {
  const { options } = answer;
  const { by } = options;
  const enough = comparableLevels(levelsOf(answer));
  return ratios
    .filter((row) => enough(row.level) && enough(row.reference))
    .filter((row) => row.estimate === null && row.high !== null && row.comparison === 'crude')
    .map((row) => ({
      sentence: `No ${row.rate} of ${problemLabel(options.problem)} was seen where ${by === 'none' ? 'it' : groupingName(by)} is ${row.level}. That is not the same as none: the records leave room for up to ${figure(row.high!, 2)} times the rate where it is ${row.reference} (one-sided 95 % limit).`,
      caution: CAUTIONS.small_numbers,
      behind: {
        relation: 'trim_cycle',
        where: row.where,
        title: cyclesTitle(options, `${row.level} and ${row.reference}`),
      },
    }));
}

/** What gave no number, each with its sentence. */
export function onsetRefusals({ options, levels, comparisons }: OnsetAnswer): Unavailable[] {
  const label = problemLabel(options.problem);
  const { by } = options;
  const who = (level: string | null): string =>
    level === null || by === 'none' ? label : `${label}, ${groupingName(by)} ${level}`;
  const refusedLevels = levels.flatMap(({ level, summary, seen }) => {
    if (!isUnavailable(summary)) return [];
    const counts =
      seen.cycles === 0 ? '' : ` (${horsesText(seen.horses)}, ${figure(seen.cycles)} trim cycles)`;
    return [
      unavailable(summary.unavailable, `${who(level)}: ${summary.sentence.replace(/\.$/, '')}${counts}.`),
    ];
  });
  // Where the herd itself gives no rate, its levels cannot be compared either: once is enough.
  if (isUnavailable(levels[0]!.summary)) return refusedLevels.slice(0, 1);
  const beside = (comparison: Comparison['comparison']): string =>
    comparison === 'crude' ? '' : ' with the rest held alike';
  const refusedComparisons = comparisons.flatMap((comparison, i) =>
    isUnavailable(comparison)
      ? [
          unavailable(
            comparison.unavailable,
            `${label}, levels ${i === 0 ? 'as recorded' : 'with the rest held alike'}: ${comparison.sentence}`,
          ),
        ]
      : [
          ...comparison.leftOut.map(({ grouping, level }) =>
            unavailable(
              'one-level',
              `${label}, ${groupingName(grouping)} ${level}: every trim cycle began in the same state, so it is left out of the comparison${beside(comparison.comparison)}.`,
            ),
          ),
          ...comparison.ratios.flatMap((ratio) =>
            (['onset', 'clearing'] as const).flatMap((rate) => {
              const why = shownRatio(ratio[rate]);
              const what = `${who(ratio.level)}, ${rate} against ${comparison.reference}`;
              return isUnavailable(why)
                ? [unavailable(why.unavailable, `${what}${beside(ratio.comparison)}: ${why.sentence}`)]
                : [];
            }),
          ),
        ],
  );
  return [...refusedLevels, ...refusedComparisons];
}
