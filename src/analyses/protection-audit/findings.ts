import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { texts } from '../../core/table.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { FEWEST_COMPARED } from '../few-horses.ts';
import { counted, countsText, figure, horsesText, interval95, percent, shareInterval95 } from '../format.ts';
import type { ProtectionAnswer } from './answer.ts';
import type { Counted, Pooled, Tender } from './compare.ts';
import type { Coverage } from './coverage.ts';
import { type Standing, standings } from './latest.ts';
import type { AlikeBy } from './options.ts';
import { adviceWhere, LEVEL_WORDS, pooledWhere, tenderWhere } from './tables.ts';

const ALIKE_WORDS: Readonly<Record<AlikeBy, string>> = {
  breed_type: 'breed type',
  terrain: 'ground',
  moisture: 'moisture',
  sole: 'sole depth',
  tender: 'tenderness at the trim',
};

function listed(words: readonly string[], last = 'and'): string {
  return words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} ${last} ${words.at(-1)}`;
}

export const alikeWords = (by: readonly AlikeBy[]): string => listed(by.map((each) => ALIKE_WORDS[each]));

const RULE_SAYS = { bare: 'a foot may stay bare', protect: 'protect' } as const;

const none = (n: number): string => (n === 0 ? 'none' : figure(n));

const cycles = (n: number): string => counted(n, 'trim cycle', 'trim cycles');

/** `21.0 % (95 % 18.0 to 24.3 %)`; without interval where there is none. */
function shareWords({ share, cases, counts }: Counted): string {
  if (isUnavailable(share)) return `${figure(cases)} of ${figure(counts.cycles)}`;
  return `${percent(share.estimate, 1)} (${shareInterval95(share.low, share.high, 1)})`;
}

export function protectionFindings(answer: ProtectionAnswer, coverage: Coverage): Finding[] {
  return [
    ...latestFinding(answer),
    ...agreementFinding(answer),
    ...ruleFinding(answer),
    ...(['protect', 'bare'] as const).flatMap((advice) => comparedFinding(answer, advice)),
    ...evidenceFinding(answer),
    ...coverageFindings(answer, coverage),
  ];
}

function latestFinding({ latest }: ProtectionAnswer): Finding[] {
  const found = standings(latest);
  const feet = (standing: Standing['standing']): number =>
    found.find((each) => each.standing === standing)?.feet ?? 0;
  if (latest.rowCount === 0) return [];
  const bare = feet('protect, but left bare');
  const kept = feet('may stay bare, but left protected');
  const unknown = feet('not enough recorded to say');
  const horses = new Set(texts(latest, 'horse_id')).size;
  const of = `Of ${counted(latest.rowCount, 'foot', 'feet')} of ${horsesText(horses)} as last seen`;
  return [
    {
      sentence: `${of}, ${none(bare)} ${bare === 1 ? 'was' : 'were'} left bare where your rule says protect, and ${none(kept)} protected where it says a foot may stay bare; of ${none(unknown)} too little is recorded to say. This is what the rule says of the record: the foot in front of you decides.`,
      caution: CAUTIONS.foot_first,
      behind: null,
    },
  ];
}

function agreementFinding(answer: ProtectionAnswer): Finding[] {
  const [all, bare, protect] = (['all', 'bare', 'protect'] as const).map(
    (each) => answer.agreements.find(({ advice }) => advice === each)!.followed,
  );
  if (all!.counts.cycles === 0) return [];
  const parts = [
    ...(bare!.counts.cycles > 0
      ? [
          `where it says a foot may stay bare, ${shareWords(bare!)} of ${cycles(bare!.counts.cycles)} were left bare`,
        ]
      : []),
    ...(protect!.counts.cycles > 0
      ? [`where it says protect, ${shareWords(protect!)} of ${cycles(protect!.counts.cycles)} were protected`]
      : []),
  ];
  return [
    {
      sentence: `${shareWords(all!)} of trim cycles were left as your rule says: ${parts.join('; ')}. From ${countsText(all!.counts)}.`,
      caution: null,
      behind: {
        relation: 'trim_cycle',
        where: adviceWhere(answer, 'all'),
        title: 'trim cycles of which your rule can say',
      },
    },
  ];
}

/** Feet left bare with the rule and against it: what the rule parts. */
function ruleFinding(answer: ProtectionAnswer): Finding[] {
  const bare = (advice: Tender['advice']): Tender =>
    answer.tender.find((each) => each.advice === advice && each.done === 'bare')!;
  const [by, against] = [bare('bare'), bare('protect')];
  if (!isEnough(by.tender) || !isEnough(against.tender)) return [];
  return [
    {
      sentence: `Of feet left bare as your rule says, ${shareWords(by.tender)} were tender at the next visit (${cycles(by.tender.counts.cycles)} of ${horsesText(by.tender.counts.horses)}); of feet left bare where it says protect, ${shareWords(against.tender)} (${cycles(against.tender.counts.cycles)} of ${horsesText(against.tender.counts.horses)}).`,
      caution: CAUTIONS.own_scale,
      behind: {
        relation: 'trim_cycle',
        where: tenderWhere(answer, by),
        title: 'left bare as your rule says, graded at the next visit',
      },
    },
  ];
}

const isEnough = ({ counts, share }: Counted): boolean =>
  !isUnavailable(share) && counts.horses >= FEWEST_COMPARED;

const isComparable = ({ horses }: Pooled): boolean =>
  horses.bare >= FEWEST_COMPARED && horses.protected >= FEWEST_COMPARED;

function comparedFinding(answer: ProtectionAnswer, advice: 'bare' | 'protect'): Finding[] {
  const found = answer.pooled.find((each) => each.advice === advice)!;
  const { pooled, counts, strata } = found;
  if (isUnavailable(pooled) || !isComparable(found)) return [];
  const { estimate, low, high } = pooled.riskDifference;
  const points = `${figure(estimate * 100, 1)} points of a hundred (${interval95(low * 100, high * 100, 1)})`;
  const ratio = pooled.riskRatio;
  const times = ratio
    ? `, a ratio of ${figure(ratio.estimate, 2)} (${interval95(ratio.low, ratio.high, 2)})`
    : '';
  const alike = answer.options.alike_by;
  const among = alike.length > 0 ? `Among feet alike in ${alikeWords(alike)}` : 'Among all feet';
  const than =
    low <= 0 && high >= 0
      ? 'when left bare and when protected cannot be told apart'
      : `was ${estimate > 0 ? 'higher' : 'lower'} when left bare than when protected`;
  return [
    {
      sentence: `${among} where your rule says ${RULE_SAYS[advice]}, the share tender at the next visit ${than}: a difference of ${points}${times}. From ${countsText(counts)}. Which feet were protected was chosen at the foot, so they may differ in what is not written down.`,
      caution: CAUTIONS.record,
      behind: {
        relation: 'trim_cycle',
        where: pooledWhere(answer, advice, strata),
        title: `like feet, bare and protected, your rule says ${LEVEL_WORDS[advice]}`,
      },
    },
  ];
}

function evidenceFinding({ likeFeet }: ProtectionAnswer): Finding[] {
  const without = likeFeet.filter((group) => group.bare.rows === 0 || group.protected.rows === 0);
  if (without.length === 0) return [];
  const n = without.reduce((sum, { counts }) => sum + counts.cycles, 0);
  const total = likeFeet.reduce((sum, { counts }) => sum + counts.cycles, 0);
  return [
    {
      sentence: `${figure(without.length)} of ${counted(likeFeet.length, 'group', 'groups')} of like feet, with ${figure(n)} of ${cycles(total)}, hold only bare or only protected feet: there is no evidence there on which of the two does better.`,
      caution: null,
      behind: null,
    },
  ];
}

function coverageFindings({ options }: ProtectionAnswer, { unknown, notAlike }: Coverage): Finding[] {
  const told: Finding[] = [];
  if (unknown.counts.cycles > 0) {
    told.push({
      sentence: `Of ${cycles(unknown.counts.cycles)} of ${horsesText(unknown.counts.horses)} too little is recorded for your rule to say.`,
      caution: null,
      behind: { relation: 'trim_cycle', where: unknown.where, title: unknown.what },
    });
  }
  if (notAlike.counts.cycles > 0) {
    told.push({
      sentence: `${cycles(notAlike.counts.cycles)} of ${horsesText(notAlike.counts.horses)} lack one of ${alikeWords(options.alike_by)} and could not be set beside others.`,
      caution: null,
      behind: { relation: 'trim_cycle', where: notAlike.where, title: notAlike.what },
    });
  }
  return told;
}

export function protectionRefusals(answer: ProtectionAnswer): Unavailable[] {
  const told: Unavailable[] = [];
  const all = answer.agreements.find(({ advice }) => advice === 'all')!.followed;
  if (all.counts.cycles === 0) {
    return [
      unavailable(
        'no-rows',
        'There is no trim cycle of which your rule could say, and of which what the foot left in is recorded.',
      ),
    ];
  }
  for (const found of answer.pooled) {
    if (found.advice === 'all') continue;
    const where = `Bare against protected where your rule says ${RULE_SAYS[found.advice === 'bare' ? 'bare' : 'protect']}`;
    const { followed } = answer.agreements.find(({ advice }) => advice === found.advice)!;
    if (followed.counts.cycles === 0) {
      told.push(unavailable('no-rows', `${where}: there is no such trim cycle.`));
    } else if (isUnavailable(found.pooled)) {
      told.push(unavailable(found.pooled.unavailable, `${where}: ${found.pooled.sentence}`));
    } else if (!isComparable(found)) {
      told.push(
        unavailable(
          'no-overlap',
          `${where}: ${horsesText(found.horses.bare)} left bare and ${horsesText(found.horses.protected)} protected among feet that are alike are too few to compare.`,
        ),
      );
    }
  }
  return told;
}
