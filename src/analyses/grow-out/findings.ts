import { longDate } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { isComparable } from '../few-horses.ts';
import {
  counted,
  countsText,
  figure,
  horsesText,
  interval95,
  percent,
  range,
  shareInterval95,
} from '../format.ts';
import { type Calibration, LATER_WORDS } from './calibration.ts';
import type { StandingNow } from './gather.ts';
import { GROWING_OUT, GROWING_OUT_KEYS } from './options.ts';
import { firstDay, hasPassed, lastDay, type Projection } from './project.ts';
import { HANDBOOK_MONTHS, type Renewal } from './renewal.ts';
import type { Standing } from './standing.ts';
import { bandWords, countsOf, seenWhere, toldBands } from './tables.ts';

/** `Skylark (H015 LF)`; the foot alone of a horse without a name. */
const calledFoot = ({ horseName, footKey }: Standing): string =>
  horseName ? `${horseName} (${footKey})` : footKey;

const feetText = (n: number): string => counted(n, 'foot', 'feet');

/** `between 3 December 2026 and 2 January 2027 (95 % range)` */
function rangeWords(projection: Projection): string {
  const last = lastDay(projection);
  const first = longDate(firstDay(projection));
  return last === null
    ? `from ${first} on, with no late end that can be told (95 % range)`
    : `between ${first} and ${longDate(last)} (95 % range)`;
}

export function growOutFindings(
  now: StandingNow,
  calibration: Calibration,
  renewals: readonly Renewal[],
  later: number,
): Finding[] {
  return [
    ...standingFinding(now),
    ...passedFinding(now),
    ...otherCracksFinding(now),
    ...heldFindings(calibration, later),
    ...renewalFinding(renewals),
  ];
}

function standingFinding({ projections, day }: StandingNow): Finding[] {
  if (projections.length === 0) return [];
  const { horses } = countsOf(projections);
  const kinds = GROWING_OUT_KEYS.flatMap((key) => {
    const n = projections.filter(({ standing }) => standing.problem === key).length;
    return n === 0
      ? []
      : [`${feetText(n)} with ${key === 'coronet_injury' ? 'an' : 'a'} ${GROWING_OUT[key]}`];
  });
  const listed = kinds.length < 2 ? kinds[0] : `${kinds.slice(0, -1).join(', ')} and ${kinds.at(-1)}`;
  const next = projections.find((one) => !hasPassed(one, day));
  const first = next
    ? ` Next is the ${GROWING_OUT[next.standing.problem]} of ${calledFoot(next.standing)}: ${rangeWords(next)}.`
    : '';
  return [
    {
      sentence: `On ${horsesText(horses)} growth should bring down, if nothing new opens above: ${listed}.${first} The foot in front of you decides, not the date.`,
      caution: CAUTIONS.foot_first,
      behind: {
        relation: 'foot_visit',
        where: seenWhere(projections),
        title: 'visits at which they were seen',
      },
    },
  ];
}

function passedFinding({ projections, day }: StandingNow): Finding[] {
  const passed = projections.filter((one) => hasPassed(one, day));
  if (passed.length === 0) return [];
  return [
    {
      sentence: `For ${figure(passed.length)} of them the whole range of dates has passed since the last visit: whether they are clear is the first thing to look for.`,
      caution: null,
      behind: { relation: 'foot_visit', where: seenWhere(passed), title: 'visits at which they were seen' },
    },
  ];
}

function otherCracksFinding({ otherCracks: { feet, horses, where } }: StandingNow): Finding[] {
  if (feet === 0) return [];
  return [
    {
      sentence: `${feetText(feet)} of ${horsesText(horses)} ${feet === 1 ? 'has' : 'have'} a crack from the ground, or one whose start is not recorded. Without a height it cannot be projected when such a crack should be grown out.`,
      caution: null,
      behind: { relation: 'foot_visit', where, title: 'cracks from the ground or of unrecorded start' },
    },
  ];
}

/** A share that is not 0 and would be written 0.0 is told by what it is under. */
const leastOr = (share: number): string => (share < 0.001 ? `under ${percent(0.001, 1)}` : percent(share, 1));

function heldFindings(calibration: Calibration, later: number): Finding[] {
  const by = `by the ${LATER_WORDS[later]}`;
  return calibration.overall.flatMap((all): Finding[] => {
    if (all.later !== later || isUnavailable(all.seen)) return [];
    const { seen, difference, projected, counts, problem } = all;
    const judged = isUnavailable(difference) ? '' : ` ${judgement(difference)}`;
    const bands = toldBands(calibration).filter(
      (band) => band.problem === problem && band.later === later && isComparable(band.counts),
    );
    const fullest = bands.reduce((a, b) => (b.counts.cycles > a.counts.cycles ? b : a), bands[0]!);
    const ofFullest = fullest
      ? ` Of ${figure(fullest.counts.cycles)} projections that gave ${bandWords(fullest)}, ${percent(fullest.seen.estimate, 1)} (${shareInterval95(fullest.seen.low, fullest.seen.high, 1)}) were seen clear.`
      : '';
    return [
      {
        sentence: `Looking back at ${figure(counts.cycles)} visits with a ${GROWING_OUT[problem]} (${feetText(counts.feet)} of ${horsesText(counts.horses)}), growth alone would have had ${leastOr(projected)} grown out ${by}; seen clear were ${percent(seen.estimate, 1)} (${shareInterval95(seen.low, seen.high, 1)}).${ofFullest}${judged}`,
        caution: CAUTIONS.between_visits,
        behind: { relation: 'foot_visit', where: all.where, title: all.title },
      },
    ];
  });
}

function judgement({ low, high }: Pick<Estimate, 'low' | 'high'>): string {
  if (high < 0)
    return 'They lasted longer than growth alone would have it, so take a date as the earliest to hope for.';
  return low > 0
    ? 'They were gone sooner than growth alone would have it.'
    : 'The two agree within what chance can do.';
}

function renewalFinding(renewals: readonly Renewal[]): Finding[] {
  const byMarks = renewals.filter(({ basis }) => basis === 'growth and wear');
  const from = (byMarks.length > 0 ? byMarks : renewals).filter(({ counts }) => isComparable(counts));
  if (from.length === 0) return [];
  const most = from.reduce((a, b) => (b.counts.cycles > a.counts.cycles ? b : a));
  const { estimate, low, high } = most.months;
  const words = most.basis === 'growth and wear' ? 'gross growth, read from marks,' : 'net growth alone';
  return [
    {
      sentence: `At the rate of ${words} the whole toe takes an estimated ${figure(estimate, 1)} months to be renewed (${interval95(low, high, 1)}), breed type ${most.breedType}, from ${countsText(most.counts)}. Handbooks give ${range(...HANDBOOK_MONTHS)} months.`,
      caution: CAUTIONS.record,
      behind: { relation: 'trim_cycle', where: most.where, title: `${most.basis}, ${most.breedType}` },
    },
  ];
}

/** What of the feet could not be told, each with its sentence. */
export function aheadRefusals(now: StandingNow): Unavailable[] {
  const { growth, projections, unmeasured, untold } = now;
  const refused: Unavailable[] = [];
  if (growth && isUnavailable(growth)) refused.push(growth);
  if (projections.length === 0 && untold.length === 0) {
    refused.push(
      unavailable(
        'no-rows',
        'no foot here stands with a separation of recorded height, a crack from the coronet or an injury of the coronet, so there is nothing to project.',
      ),
    );
  }
  if (unmeasured.length > 0) {
    refused.push(
      unavailable(
        'no-rows',
        `${feetText(unmeasured.length)} cannot be projected: the height of the separation, or the toe’s length, was not recorded.`,
      ),
    );
  }
  if (untold.length > 0 && growth && !isUnavailable(growth)) {
    refused.push(
      unavailable('no-rows', `for ${feetText(untold.length)} growth is known too poorly to give a date.`),
    );
  }
  const byNet = projections.filter(({ basis }) => basis === 'net growth alone').length;
  if (byNet > 0) {
    refused.push(
      unavailable(
        'no-rows',
        `no marks tell how much wears off on the ground of ${feetText(byNet)}: ${byNet === 1 ? 'its date goes' : 'their dates go'} by net growth alone, which is the slow side.`,
      ),
    );
  }
  return refused;
}

export function backRefusals({ overall }: Calibration): Unavailable[] {
  const isTold = overall.some(({ seen }) => !isUnavailable(seen));
  if (isTold) return [];
  return [
    unavailable(
      'no-rows',
      'how well past projections held cannot be told: that takes problems on two horses or more that were seen again, after a calendar year of records to project from.',
    ),
  ];
}
