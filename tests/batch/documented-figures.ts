import { type Figure, written } from '../../src/tasks/documents/figure-faults.ts';
import type { Row } from './read-results.ts';

type Cell = 'estimate' | 'conf_low' | 'conf_high';

/** Figures of documents that an audit of the demo herd gives; `rowsOf` reads its results. */
export function documentedFigures(rowsOf: (name: string) => readonly Row[]): Figure[] {
  const value = (file: string, term: string, level: string, cell: Cell = 'estimate'): number => {
    const found = rowsOf(file).filter((row) => row.term === term && row.level === level);
    if (found.length === 0) throw new Error(`${file} has no ${term}, ${level}`);
    return Number(found[0]?.[cell]);
  };
  const bare = (share: number): string => share.toFixed(3).slice(1);
  const returned = (term: (days: number) => string): string[] =>
    [90, 180, 365].map((days) => bare(value('recurrence.csv', term(days), 'all')));
  const reading = (what: string) => `error of one reading (SD), ${what}`;
  return [
    {
      document: 'docs/methods/recurrence.md',
      says: 'the curve gives {}, {} and {}, the two-state figures {}, {} and {}.',
      are: () => [
        ...returned((days) => `return seen by ${days} days`),
        ...returned((days) => `return by ${days} days, unseen returns counted (two-state model)`),
      ],
    },
    {
      document: 'docs/methods/wear.md',
      says: '| known truth | {}, {}, {}, {}:',
      are: () =>
        ['soft', 'mixed', 'firm', 'rocky'].map((ground) =>
          written(value('wear.csv', 'wear', `ground: ${ground}`), 2),
        ),
    },
    {
      document: 'docs/methods/measurement.md',
      says: 'inside the intervals: {}–{} |',
      are: () =>
        (['conf_low', 'conf_high'] as const).map((cell) =>
          written(value('measurement.csv', reading('toe length'), 'all', cell), 2),
        ),
    },
    {
      document: 'docs/methods/measurement.md',
      says: '| {}° of 0.745° |',
      are: () => written(value('measurement.csv', reading('toe angle'), 'all'), 2),
    },
    {
      document: 'docs/methods/measurement.md',
      says: '| 10 % | {} % ({}–{}) |',
      are: () => {
        const [ends] = rowsOf('tables/measurement-round_ends.csv').filter(
          ({ measure, level }) => measure === 'Toe length' && level === 'all practitioners',
        );
        return [ends?.estimate, ends?.conf_low, ends?.conf_high].map((share) =>
          written(100 * Number(share), 1),
        );
      },
    },
    {
      document: 'docs/methods/relief-audit.md',
      says: 'of like feet {} mm are found',
      are: () =>
        written(
          value('relief-audit.csv', 'change of separation height per 30 days', 'relieved, like feet'),
          1,
        ),
    },
  ];
}
