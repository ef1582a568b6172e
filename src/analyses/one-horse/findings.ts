import { type CivilDay, longDate } from '../../core/civil-day.ts';
import { PROBLEMS, problemLabel } from '../../herd/problems.ts';
import { FOOT_LABELS } from '../../herd/vocabularies.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { counted } from '../format.ts';
import { allOf, isLevel } from '../groups.ts';
import { type LengthWords, lengthWords, type ShownLength } from '../lengths.ts';
import { type HorseRecord, numberAt } from './data.ts';
import { type GrowingOutFoot, growOutFinding } from './grow-out.ts';
import type { HorseGrowth, Rate } from './growth.ts';
import type { SideDifference } from './sides.ts';
import { RATE_TIMES, RATE_UNIT, rateTitle, stateWords } from './tables.ts';

interface Told {
  readonly horse: HorseRecord;
  readonly growth: HorseGrowth | null;
  readonly sides: readonly SideDifference[];
  readonly ahead: readonly GrowingOutFoot[];
  /** The day looked from. */
  readonly day: CivilDay;
}

/** The sentences for an owner; figures as the tables show them. */
export function horseFindings({ horse, growth, sides, ahead, day }: Told, lengths: ShownLength): Finding[] {
  const words = lengthWords(lengths);
  return [
    seen(horse, day),
    standing(horse),
    ...growOutFinding(horse, ahead, day, words),
    ...(growth ? [growthSentence(horse, growth, words)] : []),
    ...sides.map((side) => sideSentence(side, words)),
  ];
}

const called = ({ name, id }: HorseRecord): string => (name && name !== id ? `${name} (${id})` : id);
const everyVisit = (horse: HorseRecord) => ({
  relation: 'foot_visit' as const,
  where: isLevel('horse_id', horse.id),
  title: `${horse.name ?? horse.id}, every visit`,
});

function seen(horse: HorseRecord, day: CivilDay): Finding {
  const { visits, firstDay, lastDay, client } = horse;
  const when =
    visits === 1
      ? `was seen once, on ${longDate(lastDay)}`
      : `was seen at ${counted(visits, 'visit', 'visits')} from ${longDate(firstDay)} to ${longDate(lastDay)}`;
  return {
    sentence: `${called(horse)}${client ? `, ${client},` : ''} ${when}. Looked back on from ${longDate(day)}.`,
    caution: null,
    behind: everyVisit(horse),
  };
}

/** What was graded as present when it was last seen, foot by foot. */
function standing(horse: HorseRecord): Finding {
  const last = horse.rows.filter(({ day }) => day === horse.lastDay);
  const found = last.flatMap((row) =>
    PROBLEMS.flatMap(({ key, column }) => {
      const grade = numberAt(row, column);
      return grade ? [`${stateWords(grade)} ${problemLabel(key)} in the ${FOOT_LABELS[row.foot]}`] : [];
    }),
  );
  const injuries = last
    .filter(({ at }) => at.coronet_injury === 1)
    .map(({ foot }) => `an injury of the coronet in the ${FOOT_LABELS[foot]}`);
  const all = [...found, ...injuries];
  const looked = PROBLEMS.filter(({ column }) => last.some((row) => numberAt(row, column) !== null));
  const unseen = PROBLEMS.filter((problem) => !looked.includes(problem)).map(({ key }) => problemLabel(key));
  const told =
    all.length > 0
      ? `these stood: ${all.join('; ')}`
      : looked.length > 0
        ? 'no problem was graded as present'
        : 'no problem was looked for';
  const not =
    unseen.length > 0 && looked.length > 0 ? ` Not looked at in any foot: ${unseen.join(', ')}.` : '';
  return {
    sentence: `At the latest visit, on ${longDate(horse.lastDay)}, ${told}.${not}`,
    caution: all.length > 0 ? CAUTIONS.call_vet : null,
    behind: {
      relation: 'foot_visit',
      where: allOf(isLevel('horse_id', horse.id), `visit_date = DATE '1970-01-01' + ${horse.lastDay}`),
      title: `${horse.name ?? horse.id}, latest visit`,
    },
  };
}

function growthSentence(horse: HorseRecord, growth: HorseGrowth, words: LengthWords): Finding {
  const { horse: own, group } = growth;
  const rate = ({ estimate, low, high }: Rate['rate']): string =>
    `${words.quantity(estimate, RATE_UNIT, 2)} (${words.interval95(low, high, RATE_UNIT, 2)})`;
  const now = growth.hasSeason && own ? ` ${capital(RATE_TIMES.now)} it is ${rate(own.now)}.` : '';
  const sentence = own
    ? `Its toes grow an estimated ${rate(own.rate)} over the year, from ${counted(own.counts.feet, 'foot', 'feet')} and ${counted(own.counts.cycles, 'trim cycle', 'trim cycles')} of its own; the mean of ${group.of} on the same ground is ${rate(group.rate)}.${now}`
    : `${called(horse)} has no trim cycle of its own that shows growth yet; the mean of ${group.of} is ${rate(group.rate)}.`;
  const of = own ?? group;
  return {
    sentence,
    caution: CAUTIONS.small_numbers,
    behind: { relation: 'trim_cycle', where: of.where, title: rateTitle(horse, growth, of) },
  };
}

function sideSentence(side: SideDifference, words: LengthWords): Finding {
  const { faster, slower, pair, difference, counts, where, title } = side;
  const { estimate, low, high } = difference;
  const figures = `${words.quantity(estimate, RATE_UNIT, 2)} (${words.interval95(low, high, RATE_UNIT, 2)})`;
  const cycles = counted(counts.cycles, 'trim cycle', 'trim cycles');
  const sentence =
    low > 0
      ? `The toe of the ${faster} outgrows that of the ${slower} by an estimated ${figures}, from ${cycles}.`
      : `The ${pair} feet grow alike as far as these records can tell: the ${faster} is ahead by an estimated ${figures}, from ${cycles}.`;
  return {
    sentence,
    caution: low > 0 ? CAUTIONS.foot_first : null,
    behind: { relation: 'trim_cycle', where, title },
  };
}

const capital = (text: string): string => text.replace(/^./, (letter) => letter.toUpperCase());
