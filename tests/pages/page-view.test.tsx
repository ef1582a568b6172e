// @vitest-environment jsdom
import { signal } from '@preact/signals';
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, describe, expect, it, vi } from 'vitest';
import type { AnalysisResult, Behind } from '../../src/analyses/analysis.ts';
import { makeTable, numberColumn, type Table, textColumn } from '../../src/core/table.ts';
import type { ChoiceValue, PageExecutor } from '../../src/pages/page-executor.ts';
import { PageView } from '../../src/pages/page-view.tsx';
import { parsePage } from '../../src/pages/parse-page.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';

const names = Array.from({ length: 25 }, (_, at) => `Horse ${at + 1}`);
const perHorse = makeTable({
  horse_name: textColumn(names),
  estimate: numberColumn(names.map((_, at) => (at === 2 ? null : 6 + at / 10))),
  n_horses: numberColumn(names.map(() => 1)),
  behind: textColumn(names.map((_, at) => `horse_id = 'H${at + 1}'`)),
  behind_title: textColumn(names),
});
const GROWTH: AnalysisResult = {
  analysis: 'growth',
  tables: [
    {
      name: 'per_horse',
      title: 'Toe regrowth of each horse',
      relation: 'trim_cycle',
      columns: [
        { name: 'horse_name', label: 'horse' },
        { name: 'estimate', label: 'toe regrowth', unit: 'mm per 30 days', digits: 1 },
      ],
      table: perHorse,
    },
  ],
  findings: [
    {
      sentence: 'Toes grew 8.2 mm per 30 days.',
      caution: 'Few horses.',
      behind: { relation: 'trim_cycle', where: 'true', title: 'all horses' },
    },
    { sentence: '<img src=x onerror=alert(1)>', caution: 'Few horses.', behind: null },
  ],
  unavailable: [{ unavailable: 'one-level', sentence: 'All horses live on one kind of ground.' }],
  assumes: ['Days between trims do not depend on growth.'],
  cautions: ['This is not diagnosis.'],
  method: { name: 'Mixed model', source: 'Laird & Ware 1982', doc: 'A rate for each horse.' },
  counts: { horses: 25, feet: 100, cycles: 900 },
};

const fence = (info: string, ...body: string[]) => [`\`\`\`${info}`, ...body, '```', ''].join('\n');

let root: HTMLElement | null = null;
afterEach(() => {
  if (root) act(() => render(null, root!));
  root?.remove();
});

async function show(
  text: string,
  answer: (name: string, params: Readonly<Record<string, ChoiceValue>>) => Table | Promise<Table> = () =>
    perHorse,
) {
  const page = parsePage(`---\ntitle: Growth <b>\nsummary: How fast\n---\n${text}`);
  const executor: PageExecutor = {
    cohortVersion: signal(0),
    runQuery: (name, _sql, params) => Promise.resolve().then(() => answer(name, params)),
    runAnalysis: async () => GROWTH,
    defineColumn: async () => undefined,
    dropEntry: async () => undefined,
  };
  const runtime = createPageRuntime(page, executor);
  const onOpenRows = vi.fn<(behind: Behind) => void>();
  const host = document.createElement('div');
  document.body.append(host);
  root = host;
  await act(async () => {
    render(<PageView page={page} runtime={runtime} onOpenRows={onOpenRows} />, host);
  });
  const settle = () => act(() => runtime.settled());
  const entry = (name: string) => host.querySelector<HTMLElement>(`[data-entry="${name}"]`)!;
  return { host, runtime, onOpenRows, settle, entry };
}

const click = (element: Element | null | undefined) =>
  act(() => {
    element!.dispatchEvent(new MouseEvent('click', { bubbles: true }));
  });
const button = (within: Element, text: string) =>
  [...within.querySelectorAll('button')].find((each) => each.textContent?.includes(text));

describe('PageView', () => {
  it('shows text and titles without letting markup or script through', async () => {
    const { host } = await show(
      [
        '## <script>alert(1)</script> Heading',
        '[bad](javascript:alert(1)) [data](data:text/html,x) [odd](//elsewhere.example/x) [sneaky](JaVaScRiPt:alert)',
        '[good](https://example.org/a) [near](#growth)',
        '![a picture](https://elsewhere.example/p.png)',
        '<iframe src="https://elsewhere.example"></iframe>',
      ].join('\n\n'),
    );
    expect(host.querySelector('script, iframe, img, b')).toBeNull();
    expect(host.querySelector('h1')?.textContent).toBe('Growth <b>');
    expect(
      [...host.querySelectorAll('a')].map((link) => [link.getAttribute('href'), link.rel, link.target]),
    ).toEqual([
      ['https://example.org/a', 'noopener noreferrer', '_blank'],
      ['#growth', '', ''],
    ]);
    expect(host.textContent).toContain('a picture');
  });

  it('shows findings with their caution, the way to their rows, and what could not be worked out', async () => {
    const { entry, settle, onOpenRows } = await show(
      fence('analysis g', 'use: growth') + fence('findings f', 'g'),
    );
    await settle();
    const items = [...entry('f').querySelectorAll('li')];
    expect(items.map((item) => item.querySelector('p')?.textContent)).toEqual([
      'Toes grew 8.2 mm per 30 days.',
      '<img src=x onerror=alert(1)>',
      'All horses live on one kind of ground.',
    ]);
    expect(entry('f').querySelector('img')).toBeNull();
    expect(items[0]!.querySelector('.finding-caution')?.textContent).toBe('Few horses.');
    // A caution that sentences share is said once.
    expect(items[1]!.querySelector('.finding-caution')).toBeNull();
    expect(button(items[1]!, 'Rows')).toBeUndefined();
    click(button(items[0]!, 'Rows behind this'));
    expect(onOpenRows).toHaveBeenCalledWith({ relation: 'trim_cycle', where: 'true', title: 'all horses' });
  });

  it('says why in place of a table that an analysis could not give, whatever columns the page asks for', async () => {
    const { entry, settle } = await show(
      fence('analysis g', 'use: growth') +
        fence('table t', 'of: g.not_given', 'columns: [horse]', 'sort: horse'),
    );
    await settle();
    expect(entry('t').textContent).toBe('All horses live on one kind of ground.');
  });

  it('keeps method, source, assumptions and counts of an analysis one unfolding away', async () => {
    const { entry, settle } = await show(fence('analysis g', 'use: growth', 'title: Growth'));
    await settle();
    const details = entry('g').querySelector('details')!;
    expect(details.open).toBe(false);
    for (const text of [
      'How this was worked out: Growth',
      'Mixed model',
      'Laird & Ware 1982',
      'Days between trims do not depend on growth.',
      '25 horses, 100 feet and 900 trim cycles',
      'All horses live on one kind of ground.',
      'This is not diagnosis.',
    ]) {
      expect(details.textContent).toContain(text);
    }
  });

  it('shows a table with units, missing values as a dash, no hidden columns, and opens rows', async () => {
    const { entry, settle, onOpenRows } = await show(
      fence('analysis g', 'use: growth') + fence('table t', 'of: g.per_horse', 'limit: 5'),
    );
    await settle();
    const table = entry('t').querySelector('table')!;
    const texts = (selector: string) => [...table.querySelectorAll(selector)].map((cell) => cell.textContent);
    expect(texts('thead th')).toEqual(['horse', 'toe regrowth (mm per 30 days)', 'n horses']);
    expect(texts('tbody tr:nth-child(3) > *')).toEqual(['Horse 3', '–', '1']);
    expect(table.querySelector('tbody td')?.classList.contains('is-number')).toBe(true);
    expect(table.querySelectorAll('tbody tr')).toHaveLength(5);
    click(table.querySelector('tbody tr:nth-child(2) td'));
    click(table.querySelector('tbody tr:nth-child(4) button'));
    expect(onOpenRows.mock.calls.map(([behind]) => behind)).toEqual([
      { relation: 'trim_cycle', where: "horse_id = 'H2'", title: 'Horse 2' },
      { relation: 'trim_cycle', where: "horse_id = 'H4'", title: 'Horse 4' },
    ]);
    click(button(entry('t'), 'Show all'));
    expect(table.querySelectorAll('tbody tr')).toHaveLength(25);
    const [, heading] = table.querySelectorAll('thead button');
    click(heading);
    click(heading);
    expect(texts('tbody tr:first-child > th')).toEqual(['Horse 25']);
    expect(texts('tbody tr:last-child > th')).toEqual(['Horse 3']);
    expect(texts('[aria-sort=descending]')).toEqual(['toe regrowth (mm per 30 days) ↓']);
  });

  it('says which columns there are when a table asks for another, and the page stands', async () => {
    const { entry, settle, host } = await show(
      `${fence('query q', 'SELECT 1')}${fence('table t', 'of: q', 'columns: [horse, estimate]')}\nStill here.`,
    );
    await settle();
    expect(entry('t').textContent).toContain(
      'columns must be columns of the data (horse_name, estimate, n_horses): horse',
    );
    expect(host.textContent).toContain('Still here.');
  });

  it('draws a chart whose marks open their rows by pointer and by keyboard, with the same numbers as a table', async () => {
    const { entry, settle, onOpenRows } = await show(
      fence('analysis g', 'use: growth') +
        fence('chart c', 'data: g.per_horse', 'marks:', '  - {mark: dot, x: estimate, y: horse_name}'),
    );
    await settle();
    const svg = entry('c').querySelector('svg')!;
    expect(svg.getAttribute('role')).toBe('img');
    expect(entry('c').querySelector('figcaption')?.textContent).toContain(
      'n: 25 horses, 100 feet and 900 trim cycles; behind each value 1 horse.',
    );
    click(svg.querySelector('[data-row="4"]'));
    expect(onOpenRows).toHaveBeenLastCalledWith(expect.objectContaining({ where: "horse_id = 'H5'" }));
    const frame = entry('c').querySelector<HTMLElement>('.chart-frame')!;
    expect(frame.tabIndex).toBe(0);
    const press = (key: string) =>
      act(() => {
        frame.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
      });
    press('ArrowRight');
    press('ArrowRight');
    press('ArrowRight');
    expect(entry('c').querySelector('.chart-readout')?.textContent).toBe(
      'toe regrowth (mm per 30 days): 6.3 · horse: Horse 4',
    );
    press('Enter');
    expect(onOpenRows).toHaveBeenLastCalledWith(expect.objectContaining({ where: "horse_id = 'H4'" }));
    expect(entry('c').querySelector('details.chart-table table tbody')?.children.length).toBe(20);
  });

  it('offers choices as labelled form controls, and computes again on a new one', async () => {
    const { host, entry, settle, runtime } = await show(
      fence(
        'choice breed',
        'label: Breed type',
        'kind: list',
        'options: [draft, {value: pony, label: Ponies}]',
      ) +
        fence('choice weeks', 'label: Weeks', 'kind: range', 'min: 3', 'max: 12', 'default: 6') +
        fence('choice since', 'label: Since', 'kind: date', 'default: 2025-01-01') +
        fence('query q', 'SELECT $breed'),
    );
    await settle();
    const labels = [...host.querySelectorAll('.choices label')];
    expect(labels.map((label) => label.textContent)).toEqual(['Breed type', 'Weeks', 'Since']);
    for (const label of labels) expect(host.querySelector(`#${label.getAttribute('for')}`)).not.toBeNull();
    const select = entry('breed').querySelector('select')!;
    expect([...select.options].map((option) => option.textContent)).toEqual(['draft', 'Ponies']);
    select.value = 'pony';
    act(() => {
      select.dispatchEvent(new Event('change', { bubbles: true }));
    });
    await settle();
    expect(runtime.choices()).toEqual({ breed: 'pony', weeks: 6, since: '2025-01-01' });
    expect(entry('q').dataset.runs).toBe('2');
    expect(entry('weeks').dataset.runs).toBe('1');
    const range = entry('weeks').querySelector('input')!;
    range.value = '9';
    act(() => {
      range.dispatchEvent(new Event('input', { bubbles: true }));
    });
    expect(entry('weeks').querySelector('output')?.textContent?.trim()).toBe('9');
    expect(runtime.choices().weeks).toBe(6);
    act(() => {
      range.dispatchEvent(new Event('change', { bubbles: true }));
    });
    expect(runtime.choices().weeks).toBe(9);
  });

  it('shows what failed with its line and a way to try again, and what waits for it', async () => {
    let broken = true;
    const { entry, settle } = await show(fence('query q', 'SELECT 1') + fence('table t', 'of: q'), () => {
      if (broken) throw new Error('no such column: <b>x</b>');
      return perHorse;
    });
    await settle();
    expect(entry('q').dataset.status).toBe('failed');
    expect(entry('q').querySelector('[role=alert]')?.textContent).toContain(
      '(q, line 5): no such column: <b>x</b>',
    );
    expect(entry('t').textContent).toBe('This table needs q, which is not there.');
    broken = false;
    click(button(entry('q'), 'Try again'));
    await settle();
    expect(entry('t').querySelectorAll('tbody tr')).toHaveLength(20);
  });

  it('lets a long run be cancelled', async () => {
    const { entry } = await show(fence('query q', 'SELECT 1'), () => new Promise(() => undefined));
    expect(entry('q').getAttribute('aria-busy')).toBe('true');
    expect(entry('q').querySelector('progress')).not.toBeNull();
    click(button(entry('q'), 'Cancel'));
    expect(entry('q').dataset.status).toBe('cancelled');
    expect(button(entry('q'), 'Work it out')).toBeDefined();
  });

  it('lists what could not be read, with lines, and shows the rest', async () => {
    const { host, entry, settle } = await show(
      `${fence('query q', 'SELECT 1')}${fence('table <img>', 'of: q')}${fence('table t', 'of: q', 'limt: 3')}`,
    );
    await settle();
    const problems = [...host.querySelectorAll('.page-problems li')].map((item) => item.textContent);
    expect(problems).toEqual([
      'line 8, <img>: name must be letters, digits and underscores, a letter first: <img>',
      expect.stringContaining('line 13, t: entry does not know limt'),
    ]);
    expect(host.querySelector('img')).toBeNull();
    expect(entry('q').dataset.status).toBe('done');
  });

  it('tells of an empty result in a sentence', async () => {
    const { entry, settle } = await show(
      fence('query q', 'SELECT 1') +
        fence('table t', 'of: q') +
        fence('chart c', 'data: q', 'marks:', '  - {mark: dot, x: a, y: a}'),
      () => makeTable({ a: numberColumn([]) }),
    );
    await settle();
    expect(entry('t').textContent).toBe('No row answers to this choice of horses and settings.');
    expect(entry('c').querySelector('svg')).toBeNull();
    expect(entry('c').textContent).toContain('There is nothing to draw');
  });
});
