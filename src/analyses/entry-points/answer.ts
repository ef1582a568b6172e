import { type Estimate, isUnavailable, type Outcome } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ClusteredShare } from '../../stats/design-effect.ts';
import type { QuestionAnswer } from './ask-question.ts';
import type { SeenOnset } from './asked.ts';
import { atRiskWhere, exposedWhere } from './data.ts';
import type { ComparisonFit } from './fits.ts';
import type { EntryOptions, Question } from './options.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface EntryAnswer {
  readonly options: EntryOptions;
  readonly fits: readonly EntryFit[];
  readonly counted: readonly CountedShare[];
}

/** A question answered one way, and the cycles it was asked of, as SQL. */
export interface EntryFit extends ComparisonFit {
  readonly question: Question;
  readonly where: string;
}

/** The risk with and without, at the weeks asked for. */
export function risksOf({ risk }: EntryFit): { with: Estimate; without: Estimate } | null {
  if (isUnavailable(risk)) return null;
  return { with: risk.with.risk[0]!, without: risk.without.risk[0]! };
}

/** Share with the outcome at the next visit, as counted. */
interface CountedShare {
  readonly question: Question;
  readonly exposed: boolean;
  readonly share: Outcome<ClusteredShare>;
  readonly seen: SeenOnset;
  readonly where: string;
}

/** What was found, with the question and the cycles behind it; what was counted stands with the crude comparison. */
export function ofQuestion(
  question: Question,
  { fits, shares }: QuestionAnswer,
  { adjust }: EntryOptions,
): { readonly fits: readonly EntryFit[]; readonly counted: readonly CountedShare[] } {
  const crude = fits.find(({ comparison }) => comparison === 'crude');
  const whereOf = (comparison: ComparisonFit['comparison']): string =>
    atRiskWhere(question, comparison === 'adjusted' ? adjust : []);
  return {
    fits: fits.map((fit) => ({ ...fit, question, where: whereOf(fit.comparison) })),
    counted: [true, false].flatMap((exposed) => {
      if (!crude) return [];
      const share = shares[exposed ? 0 : 1];
      const seen = exposed ? crude.exposed : crude.unexposed;
      return [{ question, exposed, share, seen, where: exposedWhere(whereOf('crude'), question, exposed) }];
    }),
  };
}

export const withWords = ({ exposure }: Question, exposed: boolean): string =>
  exposed ? exposure.with : exposure.without;

export const riskTitle = ({ outcome }: Question, which: string): string =>
  `trim cycles that began clear of ${problemLabel(outcome)}${which ? `, ${which}` : ''}`;
