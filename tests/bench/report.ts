import { growthExponent, spreadOf } from './measure.ts';
import { type Measurement, PARTS, type Part, type PartResult } from './results.ts';
import { slower, targetLines } from './targets.ts';
import { figure, markdownTable, spreadWords, tiny, whole } from './words.ts';

const TITLES: Readonly<Record<Part, string>> = {
  intake: 'Reading files',
  relations: 'Relations, the same SQL on both sides',
  pages: 'Pages in Node: their SQL, and each analysis as a whole',
  estimators: 'Estimators against R',
  browser: 'In a real browser',
};

const LEAD = `# Benchmarks

Written by \`npm run bench\`; what it measured stands in \`docs/benchmarks.json\`, why a target was not met in
\`tests/bench/not-met.md\`. Times are medians of five runs with the least and the most; three runs where one takes over 20
seconds (an analysis: its page over 3; pages of a browser: all of them over 60), one where it takes over 60 (an analysis: its page
over 6; pages of a browser: all of them over 180), fifteen of a fit of ours that takes less than one, and then it is said.
What is compared was run in turn, in one process, on one machine, on the same rows. Native DuckDB has as many threads as the
machine has cores, the browser's engine has one. R is given rows already laid out in memory; starting it and reading them
are not counted, and what takes it over 4 seconds is run three times, over 20 seconds once. Every herd is invented
(\`data/README.md\`).

In the browser each round begins with a fresh profile: the herd is opened through the file input, and then every page in the
order of the contents: opened, narrowed to firm ground (a quarter of the rows), widened, and narrowed to the same again. What was
worked out over a cohort is kept for every page; so each page in each round is given a last day of its own, after the last visit:
the same rows, but a cohort that was never seen. A plot counts as redrawn once its curves and marks are of that cohort; of a
curve whose band is still being resampled it says so beside it, and the second figure is when that, and every table and
sentence of the page, stands as well.
`;

/** Results as docs/benchmarks.md; `notMet` says of targets not met why, as Markdown. */
export function benchmarksText(results: readonly PartResult[], notMet: string): string {
  const sizes = [...new Set(results.map(({ rows }) => rows))].sort((a, b) => a - b);
  return [
    LEAD,
    '## Targets\n',
    targetsTable(results),
    notMet,
    ...sizes.flatMap((rows) => [
      `## ${whole(rows)} foot rows\n`,
      ...PARTS.flatMap((part) =>
        partText(
          part,
          results.filter((each) => each.rows === rows && each.part === part),
        ),
      ),
    ]),
    ...growthText(results),
    '## Where and when\n',
    whereTable(results),
  ].join('\n');
}

function targetsTable(results: readonly PartResult[]): string {
  return markdownTable(
    ['what', 'target', 'measured', 'met'],
    targetLines(results).map(({ what, target, measured, met }) => [
      what,
      target,
      measured === '' ? 'not measured' : measured,
      met === null ? '–' : met ? 'yes' : '**no**',
    ]),
  );
}

/** All pieces of a part at one size together. */
function partText(part: Part, pieces: readonly PartResult[]): string[] {
  if (pieces.length === 0) return [];
  const measurements = pieces.flatMap((piece) => piece.measurements);
  const notes = pieces.flatMap((piece) => piece.notes);
  const compared = measurements.filter(({ beside }) => beside !== undefined);
  const onPages = measurements.filter(({ key }) => PAGE_KEY.test(key));
  const alone = measurements.filter(({ beside, key }) => beside === undefined && !PAGE_KEY.test(key));
  return [
    `### ${TITLES[part]}\n`,
    ...(compared.length > 0 ? [comparedTable(compared)] : []),
    ...(alone.length > 0 ? [aloneTable(alone)] : []),
    ...(onPages.length > 0 ? [pagesTable(onPages)] : []),
    ...notes.map((note) => `- ${note}`),
    ...(notes.length > 0 ? [''] : []),
  ];
}

const PAGE_KEY = /^browser (page|cohort|whole|again) (.+)$/;
const DONE_TO_PAGES = ['page', 'cohort', 'whole', 'again'] as const;

/** One row a page: opened, its cohort narrowed to one never seen before, and to the same again. */
function pagesTable(measurements: readonly Measurement[]): string {
  const byKey = new Map(measurements.map((each) => [each.key, each]));
  const ids = [...new Set(measurements.map(({ key }) => PAGE_KEY.exec(key)?.[2] ?? ''))];
  const rows = ids.map((id) => {
    const found = DONE_TO_PAGES.map((done) => byKey.get(`browser ${done} ${id}`));
    const title = found.find((each) => each !== undefined)!.what.replace(/^.*?: /, '');
    return [title, ...found.map((each) => (each ? spreadWords(each.values) : ''))];
  });
  return markdownTable(
    [
      'page',
      'opened',
      'cohort never seen: every plot redrawn',
      'and bands, tables and sentences there',
      'the same cohort again',
    ],
    rows,
  );
}

function comparedTable(measurements: readonly Measurement[]): string {
  const rows = measurements.map((measurement) => {
    const { what, values, unit, beside, note, apart = [] } = measurement;
    const ratio = slower(measurement)!;
    const times = ratio >= 1 ? `${figure(ratio)} × as long` : `${figure(1 / ratio)} × as fast`;
    const remarks = [note ?? '', ...apart.map(({ of, value }) => `${of} ${tiny(value)}`)];
    return [
      what,
      spreadWords(values, unit),
      `${spreadWords(beside!.values, unit)}, ${beside!.name}`,
      times,
      remarks.filter((remark) => remark !== '').join('; '),
    ];
  });
  return markdownTable(['what', 'here', 'beside', 'here is', ''], rows);
}

function aloneTable(measurements: readonly Measurement[]): string {
  const rows = measurements.map(({ what, values, unit, note }) => [
    what,
    spreadWords(values, unit),
    note ?? '',
  ]);
  return markdownTable(['what', 'measured', ''], rows);
}

/** How what was measured at several sizes grows from each to the next; times of a few milliseconds say nothing. */
function growthText(results: readonly PartResult[]): string[] {
  const byKey = new Map<string, { what: string; at: Map<number, number> }>();
  for (const { rows, measurements } of results) {
    for (const { key, what, unit, values } of measurements) {
      if (unit !== 'ms' || key.startsWith('estimator ')) continue;
      const entry = byKey.get(key) ?? { what: `${kindOf(key)}${what}`, at: new Map<number, number>() };
      entry.at.set(rows, spreadOf(values).median);
      byKey.set(key, entry);
    }
  }
  const rows = [...byKey.values()]
    .filter(({ at }) => at.size > 1)
    .map(({ what, at }) => {
      const sizes = [...at.keys()].sort((a, b) => a - b);
      const steps = sizes.slice(1).map((to, k) => {
        const from = sizes[k]!;
        const power = growthExponent(at.get(from)!, at.get(to)!, to / from);
        return `${whole(from)} → ${whole(to)}: ${power.toFixed(2)}`;
      });
      return [what, steps.join('; ')];
    });
  if (rows.length === 0) return [];
  return [
    '## How times grow\n',
    'The power of the number of rows with which the median grows: 1 is in proportion.\n',
    markdownTable(['what', 'power'], rows),
  ];
}

const KINDS: readonly (readonly [string, string])[] = [
  ['sql ', 'SQL of the page '],
  ['analysis ', 'Analysis '],
];

const kindOf = (key: string): string => KINDS.find(([prefix]) => key.startsWith(prefix))?.[1] ?? '';

function whereTable(results: readonly PartResult[]): string {
  const rows = results.map(({ part, of, rows: size, commit, at, machine, versions }) => [
    `${part}${of ? ` (${of.join(', ')})` : ''}, ${whole(size)}`,
    commit,
    at.slice(0, 16).replace('T', ' '),
    machine,
    Object.entries(versions)
      .map(([name, version]) => `${name} ${version}`)
      .join(', '),
  ]);
  return markdownTable(['part, rows', 'commit', 'when (UTC)', 'machine', 'versions'], rows);
}
