import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { type Figure, written } from './figure-faults.ts';
import { ROOT } from './imports.ts';

const DEMO = 'data/truth.json';
const LEARNING = ['data/learning/first-truth.json', 'data/learning/second-truth.json'];
const SPELLS = 'tests/reference/demo/spells.json';

const bytes = (path: string): Buffer => readFileSync(join(ROOT, path));

/** What stands in a JSON file under a path of keys (`parameters.growth.toeErrorSdMm`). */
function at(file: string, keys: string): unknown {
  const whole: unknown = JSON.parse(bytes(file).toString());
  return keys.split('.').reduce((value, key) => (value as Record<string, unknown> | undefined)?.[key], whole);
}

function numberAt(file: string, keys: string): number {
  const value = at(file, keys);
  if (typeof value !== 'number') throw new Error(`${file} holds no number at ${keys}: ${value}`);
  return value;
}

const truth = (keys: string): number => numberAt(DEMO, `parameters.${keys}`);
const both = (keys: string, digits: number): string[] =>
  LEARNING.map((file) => written(numberAt(file, keys), digits));
const yards = (): { readonly practitioner: string; readonly meanDays: number }[] =>
  at(DEMO, 'yards') as { practitioner: string; meanDays: number }[];
const dayAndYear = (keys: string): string[] => {
  const [year = '', , day = ''] = String(at(DEMO, keys)).split('-');
  return [String(Number(day)), year];
};
/** .135, as shares are written among statistics. */
const bare = (share: number): string => share.toFixed(3).slice(1);
const log = (keys: string): string => written(Math.log(truth(keys)), 3);

/**
 * Figures in documents that come from files which a program makes: the truths of the invented herds, and what R
 * computed. What was measured (docs/benchmarks.md, docs/scale.md) is written by the measurement itself, and held to it.
 */
export const FIGURES: readonly Figure[] = [
  {
    document: 'README.md',
    says: '{} horses at {} yards, none of which exist',
    are: () => [written(numberAt(DEMO, 'counts.horses')), written(yards().length)],
  },
  {
    document: 'docs/changelog.md',
    says: 'An invented herd of {} horses',
    are: () => written(numberAt(DEMO, 'counts.horses')),
  },
  {
    document: 'data/README.md',
    says: '{} horses that do not exist, at {} yards that do not exist, trimmed by {} people',
    are: () =>
      [
        numberAt(DEMO, 'counts.horses'),
        yards().length,
        new Set(yards().map(({ practitioner }) => practitioner)).size,
      ].map((n) => written(n)),
  },
  {
    document: 'data/README.md',
    says: 'from {} November {} to {} November {}',
    are: () => ['firstDate', 'lastDate'].flatMap(dayAndYear),
  },
  {
    document: 'data/README.md',
    says: 'and {} rows that must be set aside',
    are: () => written((at(DEMO, 'badRows') as unknown[]).length),
  },
  {
    document: 'data/README.md',
    says: 'interval of {} to {} days',
    are: () => {
      const days = yards().map(({ meanDays }) => meanDays);
      return [Math.min(...days), Math.max(...days)].map((n) => written(n));
    },
  },
  {
    document: 'data/README.md',
    says: 'error of {} mm (standard deviation)',
    are: () => written(truth('growth.toeErrorSdMm'), 1),
  },
  {
    document: 'data/README.md',
    says: 'exp(x′β)·(d/42)^{},',
    are: () => written(truth('separation.exponent'), 1),
  },
  {
    document: 'data/README.md',
    says: 'where it lies {} mm or more outside the white line or reaches {} mm up',
    are: () => [written(truth('wallBreaking.clearFromMm'), 1), written(truth('wallBreaking.highFromMm'))],
  },
  { document: 'docs/learning.md', says: 'Both herds have {} horses', are: () => both('horses', 0)[0] ?? '' },
  {
    document: 'docs/learning.md',
    says: 'onset since the trim | {} | {} |',
    are: () => both('asked.exponent', 1),
  },
  {
    document: 'docs/learning.md',
    says: "over the herd's own mix | {} times | {} times |",
    are: () => both('asked.timesTheRisk10To5Weeks', 2),
  },
  {
    document: 'docs/learning.md',
    says: 'mm per 30 days | {} | {} |',
    are: () => both('asked.draftNetGrowthMmPer30dOnHerdsGround', 2),
  },
  {
    document: 'docs/learning.md',
    says: 'after the first clear visit | {} | {} |',
    are: () => both('asked.shareReturned90Days', 2),
  },
  {
    document: 'docs/learning.md',
    says: 'onsets per foot-year | {} | {} |',
    are: () => both('asked.frogOnsetPerFootYearWet', 1),
  },
  {
    document: 'docs/methods/wear.md',
    says: 'made with {}, {}, {}, {})',
    are: () =>
      ['soft', 'mixed', 'firm', 'rocky'].map((name) => written(truth(`growth.wearMmPer30d.${name}`), 1)),
  },
  {
    document: 'docs/methods/measurement.md',
    says: '{} mm that were put in',
    are: () => written(truth('growth.toeErrorSdMm'), 1),
  },
  {
    document: 'docs/methods/relief-audit.md',
    says: 'the true {} mm per 30 days',
    are: () => written(truth('separation.heightChangeMmPer30d.bevel_only'), 1),
  },
  {
    document: 'docs/methods/relief-audit.md',
    says: 'truly loses {} mm per 30 days',
    are: () => written(-truth('separation.heightChangeMmPer30d.relieved')),
  },
  {
    document: 'docs/methods/entry-points.md',
    says: 'the true ratio {} |',
    are: () => written(truth('wallInfection.onsetRatioCrack'), 1),
  },
  {
    document: 'docs/methods/protection-audit.md',
    says: 'odds of tenderness {} times as high when bare',
    are: () => written(Math.exp(-truth('tenderness.protected')), 2),
  },
  {
    document: 'docs/methods/recurrence.md',
    says: 'by 90, 180 and 365 days are {}, {} and {};',
    are: () =>
      ['90', '180', '365'].map((day) =>
        bare(numberAt(DEMO, `problems.separation.shareReturnedByDays.${day}`)),
      ),
  },
  {
    document: 'docs/reference.md',
    says: 'the {} rows also gathered afresh',
    are: () =>
      written(
        gunzipSync(bytes('tests/reference/demo/growth.csv.gz')).toString().trim().split('\n').length - 1,
      ),
  },
  {
    document: 'docs/reference.md',
    says: '(all horses: {} against {})',
    are: () =>
      ['survfitLoglik', 'loglik'].map((name) =>
        numberAt(SPELLS, `curves.all.${name}`).toFixed(3).replace('-', '−'),
      ),
  },
  ...['adjusted', 'within-horse', 'crude'].map((kind) => ({
    document: 'docs/calibration.md',
    says: `| interval exponent, ${kind} | {} |`,
    are: () => written(truth('separation.exponent'), 3),
  })),
  {
    document: 'docs/calibration.md',
    says: '| seasonal amplitude, ground held | {} |',
    are: () => written(truth('growth.seasonAmplitudeMmPer30d'), 3),
  },
  {
    document: 'docs/calibration.md',
    says: '| spread between horses (SD) | {} |',
    are: () => written(truth('growth.horseSdMmPer30d'), 3),
  },
  {
    document: 'docs/calibration.md',
    says: '| spread between feet (SD) | {} |',
    are: () => written(truth('growth.footSdMmPer30d'), 3),
  },
  ...['dry', 'mixed', 'wet'].flatMap((moisture) => [
    {
      document: 'docs/calibration.md',
      says: `| frog infection, log onset a year, ${moisture} | {} |`,
      are: () => log(`frogInfection.onsetPerYear.${moisture}`),
    },
    {
      document: 'docs/calibration.md',
      says: `| frog infection, log clearing a year, ${moisture} | {} |`,
      are: () => log(`frogInfection.clearingPerYear.${moisture}`),
    },
  ]),
  {
    document: 'docs/calibration.md',
    says: '| frog infection, log ratio of clearing when treated | {} |',
    are: () => log('frogInfection.clearingRatioTreated'),
  },
];
