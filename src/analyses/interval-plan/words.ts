import { problemLabel } from '../../herd/problems.ts';
import { counted, figure, percent } from '../format.ts';
import type { LengthWords } from '../lengths.ts';
import type { FootNow, HorseNow } from './data.ts';
import { PLANNED_PROBLEMS, type PlanOptions, riskLimit } from './options.ts';
import { allowedDays, type FootLimit, type HorsePlan, type LimitKey } from './plan.ts';

/** `5 weeks 6 days` */
export function weeksAndDays(days: number): string {
  const weeks = Math.floor(days / 7);
  const rest = days % 7;
  const parts = [
    ...(weeks > 0 ? [counted(weeks, 'week', 'weeks')] : []),
    ...(rest > 0 || weeks === 0 ? [counted(rest, 'day', 'days')] : []),
  ];
  return parts.join(' ');
}

export const limitWords = (key: LimitKey): string => (key === 'toe' ? 'toe length' : problemLabel(key));

export const NO_LIMIT = 'longest allowed';

/** What stops a plan: `toe length, LF`, `separation`. */
export function boundWords({ binding }: HorsePlan): string {
  if (!binding) return NO_LIMIT;
  return binding.key === 'toe' ? `${limitWords('toe')}, ${binding.foot.foot}` : limitWords(binding.key);
}

export const horseName = ({ name, id }: HorseNow): string => name ?? id;

/** `separation LF, RH; frog infection LH`; empty where every foot is clear. */
export function standingWords({ feet }: HorseNow): string {
  return PLANNED_PROBLEMS.flatMap((problem) => {
    const on = feet.filter((foot) => foot.state[problem] === 1);
    return on.length > 0 ? [`${problemLabel(problem)} ${on.map(({ foot }) => foot).join(', ')}`] : [];
  }).join('; ');
}

const groupWords = ({ groups }: FootNow): string =>
  [
    ...(groups.breed_type ? [groups.breed_type] : []),
    ...(groups.terrain ? [`${groups.terrain} ground`] : []),
    ...(groups.moisture ? [groups.moisture === 'mixed' ? 'now dry, now wet' : groups.moisture] : []),
  ].join(', ');

/** mm per 30 days where so many are expected over an interval. */
export const per30Days = (mm: number, days: number): number => (mm / days) * 30;

/** Why an interval is no longer, in one or two sentences. */
export function whyWords(plan: HorsePlan, options: PlanOptions, lengths: LengthWords): string {
  const { binding, isSooner, untold } = plan;
  const { least, most } = allowedDays(options);
  const told = [
    ...(isSooner ? [`By your limits sooner than ${weeksAndDays(least)}, the least allowed.`] : []),
    binding
      ? bindingWords(plan, binding, options, lengths)
      : `No limit is reached within ${weeksAndDays(most)}, the longest allowed.`,
  ];
  if (untold.length > 0) told.push(`Not weighed: ${untold.join('; ')}.`);
  return told.join(' ');
}

function bindingWords(
  plan: HorsePlan,
  binding: FootLimit,
  options: PlanOptions,
  lengths: LengthWords,
): string {
  const after = counted(binding.days, 'day', 'days');
  if (binding.key === 'toe') {
    const rate = lengths.quantity(per30Days(binding.at(plan.days).expected, plan.days), 'mm per 30 days', 1);
    const tolerance = toleranceWords(options, lengths);
    return `${binding.foot.foot} is expected to grow ${rate}; after ${after} the chance that it is past ${tolerance} is above ${percent(1 - options.confidence)}.`;
  }
  const alike = groupWords(binding.foot);
  const limit = riskLimit(options, binding.key);
  return `For a clear foot${alike ? ` of such a horse (${alike})` : ''} the risk of ${limitWords(binding.key)} by the next visit is an expected ${percent(binding.at(plan.days).expected, 1)} at this interval; after ${after} it may, at the confidence asked for, be over ${percent(limit, riskDigits(limit))}.`;
}

/** `10 mm`, `9.5 mm` */
export function toleranceWords({ tolerance_mm }: PlanOptions, lengths: LengthWords): string {
  return lengths.quantity(tolerance_mm, 'mm', Number.isInteger(tolerance_mm) ? 0 : 1);
}

/** As many digits as the user wrote, up to one. */
const riskDigits = (risk: number): number => (Number.isInteger(Math.round(risk * 1000) / 10) ? 0 : 1);

/** `6 days sooner than usual`, by the horse's own median. */
export function againstUsual(days: number, usualDays: number): string {
  const apart = Math.abs(days - usualDays);
  if (apart === 0) return 'as usual';
  return `${figure(apart)} ${apart === 1 ? 'day' : 'days'} ${days < usualDays ? 'sooner' : 'later'} than usual`;
}
