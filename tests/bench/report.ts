import { growthExponent, spreadOf } from './measure.ts';
import type { Measurement, Part, PartResult } from './results.ts';
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

Written by \`npm run bench\`; what it measured stands in \`data/generated/bench-results.json\`. Times are medians of five runs
with the least and the most; three runs where one takes over 20 seconds (an analysis: its page over 5), and then it is said.
What is compared was run in turn, in one process, on one machine, on the same rows. Native DuckDB has as many threads as the
machine has cores, the browser's engine has one. R is given rows already laid out in memory; starting it and reading them
are not counted, and what takes it over 4 seconds is run three times, over 20 seconds once. Every herd is invented
(\`data/README.md\`).
`;

/** Results as docs/benchmarks.md. */
export function benchmarksText(results: readonly PartResult[]): string {
  const sizes = [...new Set(results.map(({ rows }) => rows))].sort((a, b) => a - b);
  return [
    LEAD,
    '## Targets\n',
    targetsTable(results),
    ...sizes.flatMap((rows) => [
      `## ${whole(rows)} foot rows\n`,
      ...results.filter((each) => each.rows === rows).map(partText),
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

function partText({ part, measurements, notes }: PartResult): string {
  const compared = measurements.filter(({ beside }) => beside !== undefined);
  const alone = measurements.filter(({ beside }) => beside === undefined);
  return [
    `### ${TITLES[part]}\n`,
    ...(compared.length > 0 ? [comparedTable(compared)] : []),
    ...(alone.length > 0 ? [aloneTable(alone)] : []),
    ...notes.map((note) => `- ${note}`),
    ...(notes.length > 0 ? [''] : []),
  ].join('\n');
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
  ['browser page ', 'Opening the page '],
  ['browser cohort ', 'Cohort change on the page '],
];

const kindOf = (key: string): string => KINDS.find(([prefix]) => key.startsWith(prefix))?.[1] ?? '';

function whereTable(results: readonly PartResult[]): string {
  const rows = results.map(({ part, rows: size, commit, at, machine, versions }) => [
    `${part}, ${whole(size)}`,
    commit,
    at.slice(0, 16).replace('T', ' '),
    machine,
    Object.entries(versions)
      .map(([name, version]) => `${name} ${version}`)
      .join(', '),
  ]);
  return markdownTable(['part, rows', 'commit', 'when (UTC)', 'machine', 'versions'], rows);
}
