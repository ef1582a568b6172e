import { isUnavailable } from '../../core/outcome.ts';
import type { AnalysisContext, Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { counted, countsText, figure, horsesText, percent, shareInterval95 } from '../format.ts';
import { allOf } from '../groups.ts';
import { type LengthWords, lengthWords } from '../lengths.ts';
import { lowered, type MeasurementAnswer, TWO_READINGS } from './answer.ts';
import { cycleWhere } from './jumps.ts';

/** Written this much more often than chance, for certain: worth a word to whoever writes so. */
const TELLING_RATIO = 1.5;

/** The sentences; figures as the tables show them. */
export function measurementFindings(answer: MeasurementAnswer, { lengths }: AnalysisContext): Finding[] {
  const words = lengthWords(lengths);
  return [
    ...errorFindings(answer, words),
    ...repeatFindings(answer, words),
    ...readerFindings(answer, words),
    ...roundingFindings(answer),
    ...jumpFindings(answer),
    ...markFindings(answer),
    ...twiceFindings(answer, words),
  ];
}

function errorFindings({ models }: MeasurementAnswer, words: LengthWords): Finding[] {
  return models.flatMap(({ model: { measured, errors } }): Finding[] => {
    const whole = errors.find(({ level }) => level === 'all');
    if (!whole) return [];
    const { sd, counts, where } = whole;
    const { unit } = measured;
    return [
      {
        sentence: `A single reading of ${measured.words} is off by about ${words.quantity(sd.estimate, unit, 2)} (standard deviation, ${words.interval95(sd.low, sd.high, unit, 2)}) or less${measured.key === 'toe' ? ': so far do changes between trims lie from each foot’s own rate, whatever made them stray' : ''} (${countsText(counts)}). Two readings of one foot would then differ by less than ${words.quantity(sd.estimate * TWO_READINGS, unit, 2)} nineteen times in twenty.`,
        caution: null,
        behind: { relation: 'trim_cycle', where, title: `${measured.label}, all practitioners` },
      },
    ];
  });
}

function repeatFindings({ repeats, options }: MeasurementAnswer, words: LengthWords): Finding[] {
  return repeats.flatMap(({ measured, agreement, counts, where }): Finding[] => {
    if (isUnavailable(agreement)) return [];
    const { bias, lowerLimit, upperLimit, nPairs } = agreement;
    const { unit } = measured;
    return [
      {
        sentence: `Read again within ${counted(options.within_days, 'day', 'days')} with no trim between, ${measured.words} differed by ${words.quantity(bias.estimate, unit, 2)} on average (${words.interval95(bias.low, bias.high, unit, 2)}), nineteen times in twenty by ${words.range(lowerLimit.estimate, upperLimit.estimate, unit, 2)}${unit === '°' ? unit : ` ${words.shown}`}: ${counted(nPairs, 'pair', 'pairs')} of ${horsesText(counts.horses)}.`,
        caution: nPairs < 30 ? CAUTIONS.small_numbers : null,
        behind: { relation: 'foot_visit', where, title: `${measured.label} read again` },
      },
    ];
  });
}

/** Only of the toe: the tables hold the rest. */
function readerFindings({ models }: MeasurementAnswer, words: LengthWords): Finding[] {
  const toe = models.find(({ model: { measured } }) => measured.key === 'toe')?.model;
  const readers = (toe?.errors ?? []).filter(({ level }) => level !== 'all');
  if (!toe || readers.length < 2) return [];
  const sorted = [...readers].sort((a, b) => a.sd.estimate - b.sd.estimate);
  const [least, most] = [sorted[0]!, sorted.at(-1)!];
  const { unit } = toe.measured;
  const tell = ({ level, sd, counts }: typeof least): string =>
    `${words.figure(sd.estimate, unit, 2)} (${words.interval95(sd.low, sd.high, unit, 2)}; ${level}, ${horsesText(counts.horses)})`;
  const apart = most.sd.low > least.sd.high;
  return [
    {
      sentence: `By practitioner, the error of a single reading of ${toe.measured.words} in ${words.shown === 'in' ? 'inches' : 'mm'} runs from ${tell(least)} to ${tell(most)}; ${apart ? 'their intervals do not overlap, which may lie in the horses and ground each of them sees' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.record,
      behind: { relation: 'trim_cycle', where: toe.where, title: `${toe.measured.label}, all practitioners` },
    },
  ];
}

function roundingFindings({ rounding }: MeasurementAnswer): Finding[] {
  const toe = rounding.find(({ measured, level }) => measured.key === 'toe' && level === 'all');
  const shown = toe?.share ? [toe] : [];
  const telling = rounding
    .filter(({ level, share, expected }) => level !== 'all' && share && share.low > expected * TELLING_RATIO)
    .slice(0, 3);
  return [...shown, ...telling].map((each): Finding => {
    const { measured, level, step, expected, horses, nReadings, where } = each;
    const share = each.share!;
    const by = level === 'all' ? '' : ` by ${level}`;
    const verdict =
      share.low > expected
        ? 'more often than chance, so some readings seem to be rounded by eye'
        : share.high < expected
          ? 'less often than chance'
          : 'about as often as by chance';
    return {
      sentence: `Readings of ${measured.words}${by} are written to ${step.words}; ${percent(share.estimate, 1)} (${shareInterval95(share.low, share.high, 1)}) fall on a whole ${step.markWords}, where ${percent(expected, 1)} would if every end came as often as the next: ${verdict} (${counted(nReadings, 'reading', 'readings')} of ${horsesText(horses)}).`,
      caution: null,
      behind: { relation: 'foot_visit', where, title: `${measured.label} read${by}` },
    };
  });
}

function jumpFindings({ models, options }: MeasurementAnswer): Finding[] {
  return models.flatMap(({ model: { measured }, jumps }): Finding[] => {
    if (jumps.total === 0) return [];
    const where = jumps.shown.map((jump) => allOf(cycleWhere(jump))).join(' OR ');
    return [
      {
        sentence: `${counted(jumps.total, 'change', 'changes')} of ${lowered(measured.label)} ${jumps.total === 1 ? 'lies' : 'lie'} further than ${figure(options.beyond)} robust standard deviations from what the foot’s own rate would give, among ${counted(jumps.of, 'trim cycle', 'trim cycles')}. Nothing is left out for it: open the rows, and mend in the sheet what was a slip of the pen.`,
        caution: null,
        behind: { relation: 'trim_cycle', where, title: `${measured.label}: changes out of line` },
      },
    ];
  });
}

function markFindings({ marksUp }: MeasurementAnswer): Finding[] {
  if (marksUp.length === 0) return [];
  return [
    {
      sentence: `${counted(marksUp.length, 'mark seems', 'marks seem')} to have moved up towards the hairline, which a mark in the wall cannot: it was read amiss, or another mark was taken for it.`,
      caution: null,
      behind: {
        relation: 'trim_cycle',
        where: 'gross_growth_mm < 0',
        title: 'Marks that seem to have moved up',
      },
    },
  ];
}

function twiceFindings({ models, twice }: MeasurementAnswer, words: LengthWords): Finding[] {
  const toe = models.find(({ model: { measured } }) => measured.key === 'toe')?.model;
  if (!toe || !twice?.herd) return [];
  const unit = 'mm per 30 days';
  const { now, twice: then, ratio } = twice.herd;
  const four = twice.typical.find(({ cycles }) => cycles === 4)!;
  return [
    {
      sentence: `Were every toe read twice and the mean written, the growth interval of the middle horse of ${figure(toe.counts.horses)} would reach ${words.quantity(then, unit, 2)} either side in place of ${words.figure(now, unit, 2)} (${figure(ratio, 2)} of it); that of a horse with 4 trim cycles on each foot ${words.figure(four.twice, unit, 2)} in place of ${words.figure(four.now, unit, 2)}. More visits narrow it as well.`,
      caution: null,
      behind: { relation: 'trim_cycle', where: toe.where, title: 'Toe growth, all horses' },
    },
  ];
}
