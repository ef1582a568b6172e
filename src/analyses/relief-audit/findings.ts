import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { FEWEST_COMPARED } from '../few-horses.ts';
import {
  type Counts,
  counted,
  countsText,
  figure,
  horsesText,
  interval95,
  percent,
  shareInterval95,
} from '../format.ts';
import { groupingWords } from '../groups.ts';
import { type LengthWords, lengthWords, type ShownLength } from '../lengths.ts';
import { cyclesTitle, type ReliefAnswer, siteWords } from './answer.ts';
import { DONE, type Done, PLACES } from './options.ts';
import { type EndingAnswer, scopeWords } from './shares.ts';
import { middle } from './tables.ts';

const enough = (of: Readonly<Record<Done, Counts>>): boolean =>
  of.relieved.horses >= FEWEST_COMPARED && of.bevel_only.horses >= FEWEST_COMPARED;

export function reliefFindings(answer: ReliefAnswer, shown: ShownLength): Finding[] {
  const words = lengthWords(shown);
  return [
    ...doneFinding(answer, words),
    ...heightFinding(answer, words),
    ...heightByPlace(answer, words),
    ...endingFinding(answer, answer.broken, 'the wall had broken away at the ground', CAUTIONS.foot_first),
    ...endingFinding(answer, answer.cleared, 'the separation had cleared', CAUTIONS.between_visits),
    ...returnFinding(answer),
    ...noEvidence(answer),
  ];
}

function doneFinding({ done, options }: ReliefAnswer, words: LengthWords): Finding[] {
  if (done.length === 0) return [];
  const told = done.map(
    ({ place, share, counts }) =>
      `${place} ${percent(share.estimate, 1)} (${shareInterval95(share.low, share.high, 1)}, ${counted(counts.cycles, 'trim cycle', 'trim cycles')} of ${horsesText(counts.horses)})`,
  );
  const first = done[0]!;
  const limit = done.some(({ place }) => place !== PLACES[0])
    ? ` Near is under ${words.quantity(options.near_mm, 'mm', 1)}.`
    : '';
  return [
    {
      sentence: `Of ${siteWords(options)} that was either relieved or only bevelled, so much was relieved, by distance from the white line: ${told.join('; ')}.${limit}`,
      caution: null,
      behind: { relation: 'trim_cycle', where: first.where, title: cyclesTitle(options, null, first.place) },
    },
  ];
}

const held = ({ options, done }: ReliefAnswer, ...more: string[]): string => {
  const alike = [...more, ...(done.length > 1 ? ['distance'] : []), ...options.adjust];
  return alike.length === 0
    ? 'nothing else being recorded to hold alike'
    : `with ${groupingWords(alike)} held alike`;
};

function reading({ low, high }: Estimate, more: string, less: string): string {
  if (low > 0) return more;
  return high < 0 ? less : 'the interval holds 0, so it may be no different';
}

function heightFinding(answer: ReliefAnswer, words: LengthWords): Finding[] {
  const main = answer.heights.filter(({ per, counting }) => per === '30 days' && counting === 'height');
  const told = main.find(({ scope }) => scope === 'adjusted') ?? main.find(({ scope }) => scope === 'crude');
  if (!told || !enough(told.countsOf)) return [];
  const crude = main.find(({ scope }) => scope === 'crude');
  const of = ({ estimate, low, high }: Estimate, where: string): string =>
    `${words.quantity(estimate, 'mm', 1)}${where} (${words.interval95(low, high, 'mm', 1)})`;
  const beside = crude && crude !== told ? `, against ${of(crude.difference, ' as recorded')}` : '';
  return [
    {
      sentence: `Per 30 days the height of the separation changed by ${of(told.of.relieved, ' where it was relieved')} and by ${of(told.of.bevel_only, ' where it was only bevelled')}, ${told.scope === 'adjusted' ? held(answer, ...(told.isByHeight ? ['height at the trim'] : [])) : 'as recorded, with nothing held alike'}. The difference is ${of(told.difference, '')}${beside}; ${reading(told.difference, 'relieved wall lost less height', 'relieved wall lost more height')}. From ${countsText(told.counts)}.`,
      caution: CAUTIONS.foot_first,
      behind: {
        relation: 'trim_cycle',
        where: told.where,
        title: cyclesTitle(answer.options, null, scopeWords(told.scope)),
      },
    },
  ];
}

function heightByPlace({ heights, options }: ReliefAnswer, words: LengthWords): Finding[] {
  const told = heights.filter(
    ({ per, counting, scope, countsOf }) =>
      per === '30 days' &&
      counting === 'height' &&
      scope !== 'crude' &&
      scope !== 'adjusted' &&
      enough(countsOf),
  );
  if (told.length < 2) return [];
  const parts = told.map(
    ({ scope, difference: { estimate, low, high }, counts }) =>
      `${scope} ${words.quantity(estimate, 'mm', 1)} (${words.interval95(low, high, 'mm', 1)}, ${horsesText(counts.horses)})`,
  );
  const apart = told.some((a) => told.some((b) => a.difference.low > b.difference.high));
  return [
    {
      sentence: `By distance from the white line${told.every(({ isByHeight }) => isByHeight) ? ', with height at the trim held alike' : ''}, the change of height per 30 days after relief less that after a bevel only: ${parts.join('; ')}. ${apart ? 'Not all of these intervals overlap' : 'These intervals overlap, so the distances may be no different'}.`,
      caution: CAUTIONS.small_numbers,
      behind: {
        relation: 'trim_cycle',
        where: told[0]!.where,
        title: cyclesTitle(options, null, told[0]!.scope),
      },
    },
  ];
}

function endingFinding(
  answer: ReliefAnswer,
  { shares, differences, isByHeight }: EndingAnswer,
  what: string,
  caution: string,
): Finding[] {
  const crude = differences.find(({ scope }) => scope === 'crude');
  const told = differences.find(({ scope }) => scope === 'adjusted') ?? crude;
  const of = (done: Done) => shares.find((share) => share.scope === 'crude' && share.done === done);
  const [relieved, bevelled] = [of('relieved'), of('bevel_only')];
  if (!told || !crude || !relieved || !bevelled || !enough(told.countsOf)) return [];
  const share = ({ share: { estimate, low, high }, counts }: typeof relieved): string =>
    `${percent(estimate, 1)} (${shareInterval95(low, high, 1)}, ${horsesText(counts.horses)})`;
  const difference = ({ estimate, low, high }: Estimate): string =>
    `${percent(estimate, 1)} of trim cycles (${shareInterval95(low, high, 1)})`;
  const more = isByHeight ? ['height at the trim'] : [];
  const adjusted =
    told === crude
      ? `That is a difference of ${difference(crude.difference)}, with nothing held alike`
      : `Among like feet, ${held(answer, ...more)}, the difference is ${difference(told.difference)}, against ${difference(crude.difference)} as recorded`;
  return [
    {
      sentence: `By the next visit ${what} in ${share(relieved)} of trim cycles after separated wall was relieved and in ${share(bevelled)} after it was only bevelled. ${adjusted}; ${reading(told.difference, 'it was seen more often after relief', 'it was seen less often after relief')}. From ${countsText(told.counts)}.`,
      caution,
      behind: {
        relation: 'trim_cycle',
        where: told.where,
        title: cyclesTitle(answer.options, null, scopeWords(told.scope)),
      },
    },
  ];
}

function returnFinding({ curves, ratios, options }: ReliefAnswer): Finding[] {
  const days = options.horizons[0]!;
  const parts = curves.flatMap(({ done, bands, counts }) => {
    const point = isUnavailable(bands) ? undefined : bands.points.find(({ at }) => at === days);
    if (!point || counts.horses < FEWEST_COMPARED) return [];
    return [
      `${percent(middle(point.estimate), 1)} where it had been ${DONE[done]} (${shareInterval95(point.low, point.high, 1)}, ${horsesText(counts.horses)})`,
    ];
  });
  if (parts.length < 2) return [];
  const rate = ratios.flatMap(({ comparison, ratio }) =>
    isUnavailable(ratio)
      ? []
      : [
          `${figure(ratio.estimate, 2)} ${comparison === 'crude' ? 'as recorded' : 'among like feet'} (${interval95(ratio.low, ratio.high, 2)})`,
        ],
  );
  const ratio =
    rate.length > 0
      ? ` The rate of return after relief over that after a bevel only: ${rate.join('; ')}, where 1 would be no different.`
      : '';
  return [
    {
      sentence: `Once clear, separation was seen again within ${figure(days)} days in an estimated ${parts.join(' and in ')}.${ratio}`,
      caution: CAUTIONS.record,
      behind: {
        relation: 'spell',
        where: curves[0]!.where,
        title: `clear spells after separation, ${DONE[curves[0]!.done]}`,
      },
    },
  ];
}

/** Groups of like feet in which only one thing was ever done. */
function noEvidence({ broken, cleared, counts }: ReliefAnswer): Finding[] {
  const strata = broken.strata.length > 0 ? broken.strata : cleared.strata;
  const silent = strata.filter(({ compared }) => !compared);
  if (silent.length === 0 || counts.horses < FEWEST_COMPARED) return [];
  const most = [...silent].sort((a, b) => b.counts.cycles - a.counts.cycles).slice(0, 3);
  const named = most.map(
    ({ stratum, rows }) => `${stratum} (always ${rows.relieved > 0 ? DONE.relieved : DONE.bevel_only})`,
  );
  return [
    {
      sentence: `No evidence here on feet that were all handled alike, ${figure(silent.length)} of ${counted(strata.length, 'group of like feet', 'groups of like feet')}: ${named.join('; ')}${silent.length > most.length ? ' and others' : ''}.`,
      caution: null,
      behind: null,
    },
  ];
}
