// @vitest-environment jsdom
import { signal } from '@preact/signals';
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, describe, expect, it } from 'vitest';
import type { AnalysisDraft, AnalysisResult, ResultTable } from '../../src/analyses/analysis.ts';
import { makeTable, numberColumn } from '../../src/core/table.ts';
import type { PageExecutor } from '../../src/pages/page-executor.ts';
import { PageView } from '../../src/pages/page-view.tsx';
import { parsePage } from '../../src/pages/parse-page.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';

const counts = { horses: 40, feet: 150, cycles: 900 };
const curve = (estimates: readonly number[], half: number | null): ResultTable => ({
  name: 'curve',
  title: 'Share seen again',
  relation: 'spell',
  columns: [],
  table: makeTable({
    days: numberColumn(estimates.map((_, k) => 30 * k)),
    estimate: numberColumn(estimates),
    conf_low: numberColumn(estimates.map((each) => (half === null ? null : each - half))),
    conf_high: numberColumn(estimates.map((each) => (half === null ? null : each + half))),
  }),
});
const ratios: ResultTable = {
  name: 'ratios',
  title: 'Ratios',
  relation: 'spell',
  columns: [],
  table: makeTable({
    level: numberColumn([1, 2]),
    estimate: numberColumn([1, 2]),
    conf_low: numberColumn([0.5, 1.5]),
    conf_high: numberColumn([1.5, 3]),
  }),
};
const draftOf = (estimates: readonly number[], others: readonly ResultTable[] = []): AnalysisDraft => ({
  tables: [curve(estimates, null), ...others],
  withoutBands: ['curve'],
  counts,
});
const resultOf = (estimates: readonly number[]): AnalysisResult => ({
  analysis: 'recurrence',
  tables: [curve(estimates, 0.05), ratios],
  findings: [],
  unavailable: [],
  assumes: [],
  cautions: [],
  method: { name: 'm', source: 's', doc: 'd' },
  counts,
});

const fence = (info: string, ...body: string[]) => [`\`\`\`${info}`, ...body, '```', ''].join('\n');
const PAGE = [
  '---',
  'title: T',
  '---',
  fence('analysis returns', 'use: recurrence'),
  fence(
    'chart seen',
    'data: returns.curve',
    'marks:',
    '  - {mark: band, x: days, y1: conf_low, y2: conf_high}',
    '  - {mark: line, x: days, y: estimate}',
  ),
  fence(
    'chart limits',
    'data: returns.curve',
    'marks:',
    '  - {mark: band, x: days, y1: conf_low, y2: conf_high}',
  ),
  fence(
    'chart compared',
    'data: returns.ratios',
    'marks:',
    '  - {mark: interval, y: level, x1: conf_low, x2: conf_high}',
    '  - {mark: dot, y: level, x: estimate}',
  ),
  fence('table figures', 'of: returns.curve'),
].join('\n');

interface Run {
  draft(draft: AnalysisDraft): void;
  answer(result: AnalysisResult): void;
  fail(message: string): void;
}

/** A page whose analysis says what the test has it say. */
function open() {
  const runs: Run[] = [];
  const cohortVersion = signal(0);
  const executor: PageExecutor = {
    cohortVersion,
    runQuery: () => Promise.reject(new Error('no query stands on the page')),
    runAnalysis: (_name, _use, _options, { draft }) =>
      new Promise((resolve, reject) => {
        runs.push({ draft: draft!, answer: resolve, fail: (message) => reject(new Error(message)) });
      }),
    defineColumn: () => Promise.resolve(),
    dropEntry: () => Promise.resolve(),
  };
  const page = parsePage(PAGE);
  expect(page.problems).toEqual([]);
  const runtime = createPageRuntime(page, executor);
  /** Shares that a chart was given to draw, per cent. */
  const shown = (name = 'seen') => {
    const { result } = runtime.state(name).value;
    const cells = result?.kind === 'data' ? result.views['returns.curve']?.table.columns.estimate : undefined;
    return cells?.type === 'number' ? Array.from(cells.values, (value) => Math.round(100 * value)) : null;
  };
  return { page, runtime, runs, shown, changeCohort: () => (cohortVersion.value += 1) };
}
/** Longer than an answer may follow on the heels of a draft. */
const waited = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 60));

describe('a chart whose analysis is still at work', () => {
  it('is drawn from what stands, waits on, and is drawn whole once the bands are there', async () => {
    const { runtime, runs, shown } = open();
    runs[0]!.draft(draftOf([0, 0.2]));
    await waited();
    expect(runtime.state('seen').value).toMatchObject({ status: 'waiting', isDraft: true });
    expect(shown()).toEqual([0, 20]);
    runs[0]!.answer(resultOf([0, 0.2]));
    await runtime.settled();
    expect(runtime.state('seen').value).toMatchObject({ status: 'done', isDraft: false, runs: 1 });
    expect(runtime.state('seen').value.result).toMatchObject({ views: { 'returns.curve': { counts } } });
  });

  it('waits where its table is not there yet, or would show nothing but bands; tables wait always', async () => {
    const { runtime, runs } = open();
    runs[0]!.draft(draftOf([0, 0.2]));
    await waited();
    for (const name of ['limits', 'compared', 'figures'])
      expect(runtime.state(name).value, name).toMatchObject({ isDraft: false, result: null });
    runs[0]!.draft(draftOf([0, 0.2], [ratios]));
    await waited();
    expect(runtime.state('compared').value).toMatchObject({ status: 'waiting', isDraft: true });
  });

  it('never takes a draft of another cohort for its answer', async () => {
    const { runtime, runs, shown, changeCohort } = open();
    runs[0]!.answer(resultOf([0, 0.2]));
    await runtime.settled();
    changeCohort();
    runs[1]!.draft(draftOf([0, 0.7]));
    await waited();
    expect(shown()).toEqual([0, 70]);
    changeCohort();
    // Of a run that was stopped nothing more is shown.
    runs[1]!.draft(draftOf([0, 0.9]));
    await waited();
    expect(runtime.state('seen').value).toMatchObject({ status: 'waiting', isDraft: false });
    expect(shown()).toEqual([0, 70]);
    runs[1]!.fail('stopped');
    await new Promise((resolve) => setTimeout(resolve));
    runs[2]!.answer(resultOf([0, 0.4]));
    await runtime.settled();
    expect(runtime.state('seen').value).toMatchObject({ status: 'done', isDraft: false });
    expect(shown()).toEqual([0, 40]);
  });

  it('is drawn once where the answer follows on the heels of what was handed over', async () => {
    const { runtime, runs, shown } = open();
    runs[0]!.draft(draftOf([0, 0.2]));
    runs[0]!.answer(resultOf([0, 0.3]));
    await runtime.settled();
    await waited();
    expect(runtime.state('seen').value).toMatchObject({ status: 'done', isDraft: false });
    expect(shown()).toEqual([0, 30]);
  });

  it('goes where the analysis fails or is stopped', async () => {
    const failing = open();
    failing.runs[0]!.draft(draftOf([0, 0.2]));
    await waited();
    failing.runs[0]!.fail('no');
    await failing.runtime.settled();
    expect(failing.runtime.state('seen').value).toMatchObject({ status: 'blocked', result: null });
    const stopped = open();
    stopped.runs[0]!.draft(draftOf([0, 0.2]));
    await waited();
    stopped.runtime.cancel('returns');
    expect(stopped.runtime.state('seen').value).toMatchObject({ status: 'blocked', result: null });
  });
});

describe('on the screen', () => {
  let root: HTMLElement | null = null;
  afterEach(() => {
    if (root) act(() => render(null, root!));
    root?.remove();
  });

  it('says that the intervals are to come, and gives nothing to read off or take along until then', async () => {
    const { page, runtime, runs } = open();
    root = document.createElement('div');
    document.body.append(root);
    act(() => render(<PageView page={page} runtime={runtime} onOpenRows={() => undefined} />, root!));
    const seen = () => root!.querySelector<HTMLElement>('[data-entry="seen"]')!;
    await act(async () => {
      runs[0]!.draft(draftOf([0, 0.2]));
      await waited();
    });
    expect(seen().dataset).toMatchObject({ draft: 'true', status: 'waiting' });
    expect(seen().getAttribute('aria-busy')).toBe('true');
    const caption = seen().querySelector('figcaption')!.textContent;
    expect(caption).toContain('The 95 % intervals are still being worked out.');
    expect(caption).toContain('40 horses, 150 feet and 900 trim cycles');
    expect(caption).not.toContain('Not drawn');
    expect(seen().querySelectorAll('svg [data-mark="line"]')).toHaveLength(1);
    expect(seen().querySelector('svg [data-mark="area"]')).toBeNull();
    expect(seen().querySelector<HTMLElement>('.chart-table')!.hidden).toBe(true);
    await act(async () => {
      runs[0]!.answer(resultOf([0, 0.2]));
      await runtime.settled();
    });
    expect(seen().dataset).toMatchObject({ draft: 'false', status: 'done' });
    expect(seen().querySelector('figcaption')!.textContent).not.toContain('still being worked out');
    expect(seen().querySelector('svg [data-mark="area"]')).not.toBeNull();
    expect(seen().querySelector<HTMLElement>('.chart-table')!.hidden).toBe(false);
  });
});
