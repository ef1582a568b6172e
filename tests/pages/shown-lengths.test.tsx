// @vitest-environment jsdom
import { type Signal, signal } from '@preact/signals';
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, describe, expect, it } from 'vitest';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import type { ShownLength } from '../../src/analyses/lengths.ts';
import { formatCell } from '../../src/core/format-value.ts';
import { makeTable, numberColumn, numbers, textColumn } from '../../src/core/table.ts';
import type { TableView } from '../../src/pages/entry-state.ts';
import { pageDocument } from '../../src/pages/page-document.ts';
import type { PageExecutor } from '../../src/pages/page-executor.ts';
import { PageView } from '../../src/pages/page-view.tsx';
import { parsePage } from '../../src/pages/parse-page.ts';
import { rangeInLengths } from '../../src/pages/range-lengths.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';
import { chartInLengths, namedByUnit, tableInLengths } from '../../src/pages/shown-lengths.ts';
import { chartSpec } from '../../src/plots/chart-spec.ts';

const RATE = 'mm per 30 days';
/** 7.62 mm is 0.3 in, 5.08 mm 0.2 in, 10.16 mm 0.4 in: exact by the inch of 25.4 mm. */
const rates: TableView = {
  title: 'Rates',
  relation: 'trim_cycle',
  columns: [
    { name: 'level', label: 'Group' },
    { name: 'estimate', label: 'Growth', unit: RATE, digits: 2 },
    { name: 'conf_low', label: '95 % from', digits: 2 },
    { name: 'conf_high', label: 'to', digits: 2 },
    { name: 'n_horses', label: 'Horses', digits: 0 },
  ],
  table: makeTable({
    level: textColumn(['soft']),
    estimate: numberColumn([7.62]),
    conf_low: numberColumn([5.08]),
    conf_high: numberColumn([10.16]),
    n_horses: numberColumn([12]),
  }),
};
const mixed: TableView = {
  title: 'Several units',
  relation: 'trim_cycle',
  columns: [
    { name: 'term', label: 'Term' },
    { name: 'estimate', label: 'Estimate', digits: 2 },
    { name: 'conf_low', label: '95 % from', digits: 2 },
    { name: 'unit', label: 'Unit' },
  ],
  table: makeTable({
    term: textColumn(['growth', 'share']),
    estimate: numberColumn([7.62, 0.5]),
    conf_low: numberColumn([5.08, Number.NaN]),
    unit: textColumn([RATE, 'share']),
  }),
};
const cells = ({ table, columns }: ReturnType<typeof tableInLengths>, row = 0) =>
  columns.map((column) => formatCell(table, column, row));

describe('a table read in inches', () => {
  it('has values, limits, units and one digit more; what is no length stays', () => {
    const shown = tableInLengths(rates.table, rates.columns, 'in');
    expect(cells(shown)).toEqual(['soft', '0.300', '0.200', '0.400', '12']);
    expect(shown.columns[1]?.unit).toBe('in per 30 days');
    expect(cells(tableInLengths(rates.table, rates.columns, 'mm'))).toEqual([
      'soft',
      '7.62',
      '5.08',
      '10.16',
      '12',
    ]);
    expect(numbers(rates.table, 'estimate')[0]).toBe(7.62);
  });

  it('goes by the row where rows are in several units', () => {
    const shown = tableInLengths(mixed.table, mixed.columns, 'in');
    expect(cells(shown, 0)).toEqual(['growth', '0.300', '0.200', 'in per 30 days']);
    expect(cells(shown, 1)).toEqual(['share', '0.50', '–', 'share']);
  });

  it('goes by what the page says of a column that says nothing itself, and finds the estimate where it is not shown', () => {
    const table = makeTable({ depth: numberColumn([12.7]) });
    const known = [{ name: 'depth', label: 'depth' }];
    const stated = [{ name: 'depth', label: 'Sole', unit: 'mm', digits: 0 }];
    expect(cells(tableInLengths(table, stated, 'in', known))).toEqual(['0.50']);
    const limits = rates.columns.slice(2, 4);
    expect(cells(tableInLengths(rates.table, limits, 'in', rates.columns))).toEqual(['0.200', '0.400']);
  });
});

describe('a chart read in inches', () => {
  it('moves values, lines at a number and axis ends, and still filters by the stored unit', () => {
    const spec = chartSpec.parse({
      data: 'x.mixed',
      marks: [
        { mark: 'dot', x: 'estimate', y: 'term', filter: { unit: RATE, estimate: { min: 5 } } },
        { mark: 'rule', x: 12.7 },
      ],
      x: { label: 'Growth', unit: RATE, min: 0, max: 25.4 },
    });
    const told = chartInLengths(spec, { 'x.mixed': mixed }, 'in');
    expect(told.spec.x).toMatchObject({ unit: 'in per 30 days', min: 0, max: 1 });
    expect(told.spec.marks.map(({ x }) => x)).toEqual(['estimate', 0.5]);
    const view = told.views['x.mixed']!;
    expect(numbers(view.table, 'estimate')[0]).toBeCloseTo(0.3, 12);
    expect(view.stored).toBe(mixed.table);
    expect(chartInLengths(spec, { 'x.mixed': mixed }, 'mm').spec).toBe(spec);
  });

  it('takes a column without a unit for a length where the axis says so, and no other', () => {
    const query: TableView = {
      title: 'q',
      relation: 'foot_visit',
      columns: [
        { name: 'rate', label: 'rate' },
        { name: 'weeks', label: 'weeks' },
      ],
      table: makeTable({ rate: numberColumn([7.62]), weeks: numberColumn([6]) }),
    };
    const spec = chartSpec.parse({
      data: 'q',
      marks: [{ mark: 'dot', x: 'weeks', y: 'rate' }],
      y: { unit: 'mm' },
    });
    const { table, columns } = chartInLengths(spec, { q: query }, 'in').views.q!;
    expect(numbers(table, 'rate')[0]).toBeCloseTo(0.3, 12);
    expect(numbers(table, 'weeks')[0]).toBe(6);
    expect(columns[0]?.unit).toBe('in');
  });
});

describe('a range of mm', () => {
  const body = { min: 5, max: 30, step: 1, unit: 'mm' };

  it('is dragged and read in inches; its value stays in mm', () => {
    const scale = rangeInLengths(body, 'in');
    // 5 mm is 0.197 in and 30 mm 1.181 in: whole twentieths between them.
    expect([scale.min, scale.max, scale.step]).toEqual([0.2, 1.15, 0.05]);
    expect(scale.toValue(0.4)).toBe(10.16);
    expect(scale.toShown(10.16)).toBe(0.4);
    expect(scale.words(12.7)).toBe('0.50 in');
  });

  it('is as the page says in mm, or where it is no length', () => {
    expect(rangeInLengths(body, 'mm')).toMatchObject({ min: 5, max: 30, step: 1 });
    expect(rangeInLengths({ ...body, unit: 'weeks' }, 'in').words(6)).toBe('6 weeks');
  });
});

it('what is taken away stays in mm, with the unit in the name of each length', () => {
  const { table, hasLengths } = namedByUnit(rates);
  expect(Object.keys(table.columns)).toEqual([
    'level',
    'estimate_mm_per_30_days',
    'conf_low_mm_per_30_days',
    'conf_high_mm_per_30_days',
    'n_horses',
  ]);
  expect(numbers(table, 'estimate_mm_per_30_days')[0]).toBe(7.62);
  expect(hasLengths).toBe(true);
  expect(Object.keys(namedByUnit(mixed).table.columns)).toEqual(Object.keys(mixed.table.columns));
  expect(namedByUnit(mixed).hasLengths).toBe(true);
});

const PAGE = parsePage(`---
title: T
---
\`\`\`analysis speaks
use: growth
\`\`\`

\`\`\`analysis silent
use: prevalence
\`\`\`

\`\`\`findings said
speaks
\`\`\`

\`\`\`table shown
of: speaks.levels
\`\`\`
`);

/** Two analyses, of which only one writes lengths in its sentences. */
function executorIn(lengths: Signal<ShownLength>) {
  const runs: string[] = [];
  const { table, columns, title, relation } = rates;
  const executor: PageExecutor = {
    cohortVersion: signal(0),
    lengths,
    runQuery: () => Promise.reject(new Error('no query here')),
    async runAnalysis(name): Promise<AnalysisResult> {
      const unit = lengths.peek();
      runs.push(`${name} ${unit}`);
      return {
        analysis: 'growth',
        tables: [{ name: 'levels', title, relation, columns, table }],
        findings: [{ sentence: `Told in ${unit}.`, caution: null, behind: null }],
        unavailable: [],
        assumes: [],
        cautions: [],
        method: { name: 'm', source: 's', doc: 'docs/methods/m.md' },
        counts: { horses: 12, feet: 48, cycles: 90 },
        ...(name === 'speaks' ? { lengths: unit } : {}),
      };
    },
    defineColumn: async () => undefined,
    dropEntry: async () => undefined,
  };
  return { executor, runs };
}

describe('a page whose lengths are switched', () => {
  afterEach(() => render(null, document.body));

  it('runs again what wrote lengths, and nothing else', async () => {
    const lengths = signal<ShownLength>('mm');
    const { executor, runs } = executorIn(lengths);
    const runtime = createPageRuntime(PAGE, executor);
    await runtime.settled();
    lengths.value = 'in';
    await runtime.settled();
    expect(runs).toEqual(['speaks mm', 'silent mm', 'speaks in']);
    const said = runtime.state('said').peek().result;
    expect(said?.kind === 'findings' && said.analysis.findings[0]?.sentence).toBe('Told in in.');
    runtime.dispose();
    lengths.value = 'mm';
    expect(runs).toHaveLength(3);
  });

  it('starts again what was running, and comes to an end', async () => {
    const lengths = signal<ShownLength>('mm');
    const { executor, runs } = executorIn(lengths);
    const stopped: string[] = [];
    const slow: PageExecutor = {
      ...executor,
      runAnalysis: async (name, use, options, run) => {
        const begun = executor.runAnalysis(name, use, options, run);
        run.signal.addEventListener('abort', () => stopped.push(name));
        await new Promise((resolve) => setTimeout(resolve, 5));
        run.signal.throwIfAborted();
        return begun;
      },
    };
    const runtime = createPageRuntime(PAGE, slow);
    lengths.value = 'in';
    await runtime.settled();
    expect(stopped).toEqual(['speaks', 'silent']);
    expect(runs.slice(-2)).toEqual(['speaks in', 'silent in']);
    expect(runtime.state('shown').peek().status).toBe('done');
    runtime.dispose();
  });

  it('shows its tables so, on screen and saved, and opens the method’s text', async () => {
    const { executor } = executorIn(signal<ShownLength>('in'));
    const runtime = createPageRuntime(PAGE, executor);
    await runtime.settled();
    const methodText = (doc: string) =>
      doc === 'docs/methods/m.md'
        ? '# M\n\nSee [that](other.md).\n\n| a | b |\n|---|---|\n| 1 | 2 |\n'
        : null;
    const look = { runtime, lengths: 'in', methodText, onOpenRows: () => undefined } as const;
    await act(() => render(<PageView page={PAGE} {...look} />, document.body));
    expect(document.querySelector('table')?.textContent).toContain('Growth (in per 30 days)');
    expect(document.querySelector('tbody')?.textContent).toBe('soft0.3000.2000.40012');
    const whole = document.querySelector<HTMLDetailsElement>('.whole-method')!;
    expect(whole.querySelector('table')).toBeNull();
    await act(() => {
      whole.open = true;
      whole.dispatchEvent(new Event('toggle'));
    });
    expect(whole.querySelectorAll('td')).toHaveLength(2);
    expect(whole.querySelector('a, h1')).toBeNull();
    const sides = [{ runtime, cohort: 'the whole herd' }];
    const saved = pageDocument({
      page: PAGE,
      sides,
      records: 'r',
      made: 'today',
      cautions: [],
      lengths: 'in',
      methodText,
    });
    expect(saved).toContain('Growth (in per 30 days)');
    expect(saved).toContain('>0.300<');
    expect(saved).toContain('The method in full');
    runtime.dispose();
  });
});
