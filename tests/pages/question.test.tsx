// @vitest-environment jsdom
import { signal } from '@preact/signals';
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, describe, expect, it, vi } from 'vitest';
import type { ShownLength } from '../../src/analyses/lengths.ts';
import { makeTable, numberColumn, textColumn } from '../../src/core/table.ts';
import { dependencyGraph } from '../../src/pages/dependency-graph.ts';
import type { PageExecutor } from '../../src/pages/page-executor.ts';
import { PageView } from '../../src/pages/page-view.tsx';
import { parsePage } from '../../src/pages/parse-page.ts';
import { OpenSampleContext } from '../../src/pages/question-entry.tsx';
import { createPageRuntime } from '../../src/pages/runtime.ts';

const fence = (info: string, ...body: string[]) => [`\`\`\`${info}`, ...body, '```', ''].join('\n');
const QUERIES = [
  fence('query which', "SELECT 'first' AS herd ORDER BY 1"),
  fence('query ways', 'SELECT 1 AS estimate ORDER BY 1'),
].join('\n');
const HERDS = fence(
  'samples herds',
  'of: which',
  'herds:',
  '  - {herd: first, open: one, label: The first herd}',
  '  - {herd: second, open: two, label: The second herd}',
);
const WAYS = [
  'naive: {of: ways, where: {way: plain}, words: Counting plainly}',
  'right: {of: ways, where: {way: fair}, words: Like with like}',
];
/** Entries keep what was given to them while the tab is open: each test asks another question. */
const number = (name: string, unit = 'mm') =>
  fence(
    `question ${name}`,
    `ask: How much is ${name}?`,
    'kind: number',
    `unit: ${unit}`,
    'herd: which',
    ...WAYS,
    'answers:',
    '  first: {truth: 8, accept: {low: 7.5, high: 8.5}, explain: Ground was mixed up with breed.}',
    '  second: {truth: 3, accept: {low: 2.5, high: 3.5}, explain: The other way about.}',
  );
const CHOICE = fence(
  'question way',
  'ask: Which way does it lean?',
  'kind: choice',
  'options: [{value: up, label: Too high}, {value: down, label: Too low}]',
  'herd: which',
  ...WAYS,
  'answers: {first: {truth: up, explain: Late is wet.}}',
);

let root: HTMLElement | null = null;
afterEach(() => {
  if (root) act(() => render(null, root!));
  root?.remove();
});

async function show(text: string, { herd = 'first' as string | null, lengths = 'mm' as ShownLength } = {}) {
  const page = parsePage(`---\ntitle: Learning\n---\n${QUERIES}\n${HERDS}\n${text}`);
  expect([...page.problems, ...dependencyGraph(page.entries).problems]).toEqual([]);
  const tables = {
    which: makeTable({ herd: textColumn([herd]) }),
    ways: makeTable({
      way: textColumn(['plain', 'fair']),
      estimate: numberColumn([9.26, 7.81]),
      conf_low: numberColumn([8.9, 7.4]),
      conf_high: numberColumn([9.6, 8.3]),
      n_horses: numberColumn([60, 60]),
    }),
  };
  const executor: PageExecutor = {
    cohortVersion: signal(0),
    runQuery: async (name) => tables[name as keyof typeof tables],
    runAnalysis: () => Promise.reject(new Error('none')),
    defineColumn: async () => undefined,
    dropEntry: async () => undefined,
  };
  const runtime = createPageRuntime(page, executor);
  const opened = vi.fn<(name: string) => void>();
  const host = document.createElement('div');
  document.body.append(host);
  root = host;
  await act(async () => {
    render(
      <OpenSampleContext.Provider value={opened}>
        <PageView page={page} runtime={runtime} lengths={lengths} onOpenRows={() => undefined} />
      </OpenSampleContext.Provider>,
      host,
    );
  });
  await act(() => runtime.settled());
  const entry = (name: string) => host.querySelector<HTMLElement>(`[data-entry="${name}"]`)!;
  const press = (name: string, words: string) =>
    act(() => {
      const button = [...entry(name).querySelectorAll('button')].find((each) => each.textContent === words);
      button!.click();
    });
  const answer = async (name: string, typed: string) => {
    const input = entry(name).querySelector<HTMLInputElement>('input[type="text"]')!;
    await act(() => {
      input.value = typed;
      input.dispatchEvent(new Event('input', { bubbles: true }));
    });
    // As the Enter key does.
    await act(() => {
      entry(name).querySelector('form')!.requestSubmit();
    });
  };
  const said = (name: string) => (entry(name).textContent ?? '').replaceAll('\u00a0', ' ');
  return { entry, press, answer, said, opened };
}

describe('a question', () => {
  it('keeps its answer to itself until one is given, then says how far off it was and shows every way', async () => {
    const { said, answer, entry } = await show(number('a'));
    expect(said('a')).not.toMatch(/8\.00|7\.81|9\.26|Ground was mixed up/);
    expect(entry('a').innerHTML).not.toContain('Ground was mixed up');
    await answer('a', '9.3');
    expect(said('a')).toContain('Not yet: 9.30 is too high by 1.30 (7.50 to 8.50 counts as right).');
    expect(said('a')).toContain('It is near what the plain way gives: counting plainly.');
    const cells = [...entry('a').querySelectorAll('tbody tr')].map((row) =>
      [...row.children].map((cell) => (cell.textContent ?? '').replaceAll('\u00a0', ' ')),
    );
    expect(cells).toEqual([
      ['Counting plainly', '9.26', '8.90 to 9.60', '60 horses'],
      ['Like with like', '7.81', '7.40 to 8.30', '60 horses'],
      ['The truth put into the herd', '8.00 mm'],
    ]);
    expect(said('a')).toContain('Ground was mixed up with breed.');
    await answer('a', '8,2');
    expect(said('a')).toContain('Yes: 8.20 is close to the truth');
    await answer('a', '7.1');
    expect(said('a')).toContain('7.10 is too low by 0.90');
    expect(said('a')).not.toContain('plain way gives');
  });

  it('shows when asked, hides again, and says what it cannot read', async () => {
    const { said, answer, press, entry } = await show(number('b'));
    await answer('b', 'about eight');
    expect(said('b')).toContain('Write a number');
    expect(entry('b').querySelector('input')!.getAttribute('aria-invalid')).toBe('true');
    expect(entry('b').querySelector('[role="alert"]')!.id).toBe(
      entry('b').querySelector('input')!.getAttribute('aria-describedby'),
    );
    expect(said('b')).not.toContain('Ground was mixed up');
    await press('b', 'Show me');
    expect(said('b')).toContain('8.00 mm');
    expect(said('b')).not.toContain('Not yet');
    await press('b', 'Begin again');
    expect(said('b')).not.toContain('8.00');
  });

  it('takes lengths in inches where they are read in inches', async () => {
    const { said, answer } = await show(number('c'), { lengths: 'in' });
    expect(said('c')).toContain('Your answer, in');
    // 8 mm are 0.315 in; what counts as right is 0.295 to 0.335.
    await answer('c', '0.32');
    expect(said('c')).toContain('Yes: 0.320 is close to the truth (0.295 to 0.335 counts as right).');
    await answer('c', '8');
    expect(said('c')).toContain('Not yet');
  });

  it('asks for one of several, by label, and judges it', async () => {
    const { entry, press, said } = await show(CHOICE);
    await press('way', 'Check');
    expect(said('way')).toContain('Choose one of the answers.');
    const radios = entry('way').querySelectorAll<HTMLInputElement>('input[type="radio"]');
    expect([...radios].map((radio) => radio.closest('label')?.textContent?.trim())).toEqual([
      'Too high',
      'Too low',
    ]);
    expect(new Set([...radios].map((radio) => radio.name)).size).toBe(1);
    await act(() => radios[1]!.click());
    await press('way', 'Check');
    expect(said('way')).toContain('No, it was made otherwise.');
    await act(() => radios[0]!.click());
    await press('way', 'Check');
    expect(said('way')).toContain('Yes, that is how it was made.');
    expect(said('way')).toContain('Late is wet.');
  });

  it('is judged by the herd that is open, and not at all where none is', async () => {
    const second = await show(number('d'), { herd: 'second' });
    await second.answer('d', '3');
    expect(second.said('d')).toContain('Yes: 3.00');
    act(() => render(null, root!));
    const none = await show(number('d'), { herd: null });
    expect(none.entry('d').querySelector('form')).toBeNull();
    expect(none.said('d')).toContain('open one of the herds above');
  });

  it('keeps what was given while the tab is open, each herd by itself', async () => {
    const before = await show(number('e'));
    await before.answer('e', '8');
    act(() => render(null, root!));
    const again = await show(number('e'));
    expect(again.said('e')).toContain('Yes: 8.00');
    act(() => render(null, root!));
    const other = await show(number('e'), { herd: 'second' });
    expect(other.said('e')).not.toContain('Yes');
  });
});

describe('samples', () => {
  it('says which herd is open and opens another', async () => {
    const { entry, press, opened, said } = await show('');
    expect(said('herds')).toContain('Open now: The first herd.');
    const [first] = entry('herds').querySelectorAll('button');
    expect(first!.disabled).toBe(true);
    await press('herds', 'Open the second herd');
    expect(opened.mock.calls).toEqual([['two']]);
  });
});

describe('the text of a question', () => {
  const problems = (...lines: string[]) =>
    parsePage(`---\ntitle: T\n---\n${fence('question q', ...lines)}`).problems.map(({ message }) => message);
  const common = ['ask: Why?', 'herd: which', ...WAYS];

  it('must hold its own truth', () => {
    expect(
      problems(
        ...common,
        'kind: number',
        'answers: {first: {truth: 9, accept: {low: 1, high: 2}, explain: x}}',
      ),
    ).toEqual(['answers.first.accept must hold the truth 9: 1 to 2']);
    expect(
      problems(
        ...common,
        'kind: choice',
        'options: [{value: a, label: A}, {value: b, label: B}]',
        'answers: {first: {truth: c, explain: x}}',
      ),
    ).toEqual(['answers.first.truth must be one of the options a, b: c']);
    expect(problems(...common, 'kind: number', 'answers: {}')).toEqual([
      'answers must hold an answer for at least one herd',
    ]);
  });

  it('must read entries that are there', () => {
    const page = parsePage(`---\ntitle: T\n---\n${number('q')}`);
    expect(dependencyGraph(page.entries).problems.map(({ message }) => message)).toEqual([
      expect.stringContaining('no entry of this page is called which'),
      expect.stringContaining('no entry of this page is called ways'),
      expect.stringContaining('no entry of this page is called ways'),
    ]);
  });
});
