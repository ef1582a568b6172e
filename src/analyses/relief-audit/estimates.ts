import { isUnavailable } from '../../core/outcome.ts';
import type { ResultTable } from '../analysis.ts';
import { type TidyRow, tidyTable } from '../tidy.ts';
import { BOTH, cyclesTitle, type ReliefAnswer } from './answer.ts';
import { doneWhere } from './height.ts';
import { CHOICES, DONE } from './options.ts';
import { ENDINGS, scopeWords } from './shares.ts';
import { HEIGHT_UNITS, middle } from './tables.ts';

/** Tidy: heights, shares and their differences, then return. */
export function reliefEstimates(answer: ReliefAnswer): ResultTable {
  return tidyTable(
    'relief-audit',
    'Handling separated wall',
    [...heightRows(answer), ...endingRows(answer), ...returnRows(answer)],
    3,
  );
}

function heightRows({ heights, options }: ReliefAnswer): TidyRow[] {
  return heights.flatMap(({ scope, counting, per, of, difference, counts, countsOf, where }): TidyRow[] => {
    const term = `change of separation height per ${per}${counting === 'still' ? ', still there at both ends' : ''}`;
    const common = { problem: 'separation', term, unit: HEIGHT_UNITS[per] } as const;
    return [
      ...CHOICES.map(
        (done): TidyRow => ({
          ...common,
          ...of[done],
          level: `${DONE[done]}, ${scopeWords(scope)}`,
          counts: countsOf[done],
          behind: doneWhere(where, done),
          behindTitle: cyclesTitle(options, done, scopeWords(scope)),
        }),
      ),
      {
        ...common,
        ...difference,
        level: `${BOTH}, ${scopeWords(scope)}`,
        counts,
        behind: where,
        behindTitle: cyclesTitle(options, null, scopeWords(scope)),
      },
    ];
  });
}

function endingRows({ broken, cleared, options }: ReliefAnswer): TidyRow[] {
  return [broken, cleared].flatMap(({ shares, differences }) => [
    ...shares.map(
      ({ ending, scope, done, share, counts, where }): TidyRow => ({
        problem: 'separation',
        term: `${ENDINGS[ending]} by the next visit`,
        level: `${DONE[done]}, ${scopeWords(scope)}`,
        estimate: share.estimate,
        stdError: share.stdError,
        low: share.low,
        high: share.high,
        unit: 'share',
        counts,
        behind: where,
        behindTitle: cyclesTitle(options, done, scopeWords(scope)),
      }),
    ),
    ...differences.flatMap(({ ending, scope, difference, ratio, counts, where }): TidyRow[] => {
      const common = {
        problem: 'separation',
        level: `${BOTH}, ${scopeWords(scope)}`,
        counts,
        behind: where,
        behindTitle: cyclesTitle(options, null, scopeWords(scope)),
      } as const;
      const term = `${ENDINGS[ending]} by the next visit`;
      return [
        { ...common, ...difference, term, unit: 'share' },
        ...(ratio ? [{ ...common, ...ratio, term: `${term}, ratio`, unit: 'ratio' }] : []),
      ];
    }),
  ]);
}

function returnRows({ curves, ratios, options }: ReliefAnswer): TidyRow[] {
  const common = { problem: 'separation', stdError: null, behindRelation: 'spell' } as const;
  return [
    ...curves.flatMap(({ done, bands, counts, where }): TidyRow[] =>
      isUnavailable(bands)
        ? []
        : options.horizons.flatMap((days) => {
            const point = bands.points.find(({ at }) => at === days);
            if (!point) return [];
            return [
              {
                ...common,
                term: `seen again within ${days} days`,
                level: DONE[done],
                estimate: middle(point.estimate),
                low: point.low,
                high: point.high,
                unit: 'share',
                counts,
                spells: counts.spells,
                behind: where,
                behindTitle: `clear spells after separation, ${DONE[done]}`,
              },
            ];
          }),
    ),
    ...ratios.flatMap(({ comparison, ratio, counts, where }): TidyRow[] =>
      isUnavailable(ratio)
        ? []
        : [
            {
              ...common,
              term: 'rate of return, relieved over only bevelled',
              level: scopeWords(comparison),
              estimate: ratio.estimate,
              low: ratio.low,
              high: ratio.high,
              unit: 'ratio',
              counts,
              spells: counts.spells,
              behind: where,
              behindTitle: 'clear spells after separation that was relieved or only bevelled',
            },
          ],
    ),
  ];
}
