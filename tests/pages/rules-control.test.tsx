// @vitest-environment jsdom
import { readFileSync } from 'node:fs';
import { signal } from '@preact/signals';
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, describe, expect, it, vi } from 'vitest';
import type { ShownLength } from '../../src/analyses/lengths.ts';
import { COMMON_RULE_TEXT, readRule } from '../../src/analyses/protection-audit/verdict.ts';
import type { AnalysisOptions, PageExecutor } from '../../src/pages/page-executor.ts';
import { PageView } from '../../src/pages/page-view.tsx';
import { parsePage } from '../../src/pages/parse-page.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';

const BODY = `kind: rules
label: When a sole may stay bare
columns:
  - {name: terrain, label: Ground, options: [soft, firm]}
  - {name: sole_depth_mm, label: Sole depth, unit: mm, min: 0, max: 60}
  - name: sensitivity
    label: Tenderness
    min: 0
    max: 3
    bounds: [{label: none, below: 1}, {label: 1 or more, at_least: 1}]
outcomes: [{value: bare, label: may stay bare}, {value: protect, label: protect}]
rows:
  - {when: {sensitivity: {at_least: 1}}, say: protect}
  - {when: {terrain: soft, sole_depth_mm: {at_least: 15}}, say: bare}
otherwise: protect`;
const pageText = (body: string) =>
  `---\ntitle: Soles\n---\n\`\`\`choice rule\n${body}\n\`\`\`\n\n\`\`\`analysis audit\nuse: protection-audit\nrule: $rule\n\`\`\`\n`;

let root: HTMLElement | null = null;
afterEach(() => {
  if (root) act(() => render(null, root!));
  root?.remove();
});

async function show(lengths: ShownLength = 'mm', kept?: string) {
  const page = parsePage(pageText(BODY));
  expect(page.problems).toEqual([]);
  const asked = vi.fn<(options: AnalysisOptions) => void>();
  const executor: PageExecutor = {
    cohortVersion: signal(0),
    runQuery: () => Promise.reject(new Error('no query here')),
    runAnalysis: async (_name, _use, options) => {
      asked(options);
      throw new Error('not worked out in this test');
    },
    defineColumn: async () => undefined,
    dropEntry: async () => undefined,
  };
  const runtime = createPageRuntime(page, executor, kept === undefined ? {} : { choices: { rule: kept } });
  const host = document.createElement('div');
  document.body.append(host);
  root = host;
  await act(async () => {
    render(<PageView page={page} runtime={runtime} lengths={lengths} onOpenRows={() => undefined} />, host);
  });
  await act(() => runtime.settled());
  const named = <E extends HTMLElement>(name: string) => {
    const found = host.querySelector<E>(`.rules [aria-label="${name}"]`);
    if (!found) throw new Error(`no control is called ${name}`);
    return found;
  };
  const put = async (name: string, value: string) => {
    const field = named<HTMLInputElement | HTMLSelectElement>(name);
    await act(async () => {
      field.value = value;
      field.dispatchEvent(new Event('input', { bubbles: true }));
    });
    await act(async () => {
      field.dispatchEvent(new Event('change', { bubbles: true }));
    });
    await act(() => runtime.settled());
  };
  const press = async (words: string) => {
    const found = [...host.querySelectorAll<HTMLButtonElement>('.rules button')].find(
      (each) => each.textContent === words || each.getAttribute('aria-label') === words,
    );
    expect(found?.disabled, words).toBe(false);
    await act(async () => found!.click());
    await act(() => runtime.settled());
  };
  const rule = () => JSON.parse(String(asked.mock.calls.at(-1)?.[0].rule));
  const faults = () => [...host.querySelectorAll('.rules-faults li')].map((each) => each.textContent);
  return { host, runtime, asked, named, put, press, rule, faults };
}

const FIRST = { when: { sensitivity: { at_least: 1 } }, say: 'protect' };
const SECOND = { when: { terrain: 'soft', sole_depth_mm: { at_least: 15 } }, say: 'bare' };

describe('a choice of kind rules', () => {
  it('is a table with a name for every control, and gives its value as JSON text', async () => {
    const { host, named, rule } = await show();
    expect(host.querySelector('.rules caption')?.textContent).toBe('When a sole may stay bare');
    const heads = [...host.querySelectorAll('.rules thead th')].map((each) => each.textContent);
    expect(heads).toEqual(['Row', 'Ground', 'Sole depth (mm)', 'Tenderness', 'Then', 'Move or remove']);
    expect(named<HTMLInputElement>('Row 2, sole depth, number').value).toBe('15');
    for (const control of host.querySelectorAll('.rules :is(select, input)')) {
      expect(control.getAttribute('aria-label')).toMatch(/^(Row \d, |Otherwise)/);
    }
    expect(rule()).toEqual({ rows: [FIRST, SECOND], otherwise: 'protect' });
  });

  it('is computed anew once a cell is set, and can be taken back', async () => {
    const { put, press, rule, asked, named } = await show();
    await put('Row 2, sole depth, number', '12.5');
    expect(rule().rows[1].when.sole_depth_mm).toEqual({ at_least: 12.5 });
    await put('Otherwise', 'bare');
    await put('Row 1, tenderness', '');
    expect(rule()).toMatchObject({ rows: [{ when: {} }, {}], otherwise: 'bare' });
    await press('Undo');
    expect(rule().rows[0]).toEqual(FIRST);
    await press('Back to the page’s own');
    expect(rule()).toEqual({ rows: [FIRST, SECOND], otherwise: 'protect' });
    expect(named<HTMLInputElement>('Row 2, sole depth, number').value).toBe('15');
    await press('Undo');
    expect(rule().otherwise).toBe('bare');
    expect(asked).toHaveBeenCalledTimes(7);
  });

  it('adds, moves and removes rows, says so, and keeps the focus with the row', async () => {
    const { put, press, rule, host } = await show();
    await press('Move row 2 up');
    expect(rule().rows).toEqual([SECOND, FIRST]);
    expect(host.querySelector('.rules [role="status"]')?.textContent).toBe('Row 2 is now row 1.');
    expect(document.activeElement?.getAttribute('aria-label')).toBe('Move row 1 down');
    await press('Add a row');
    expect(rule().rows[2]).toEqual({ when: {}, say: 'bare' });
    await put('Row 3, ground', 'firm');
    await press('Remove row 1');
    expect(rule().rows).toEqual([FIRST, { when: { terrain: 'firm' }, say: 'bare' }]);
  });

  it('tells row, column and what is accepted, and keeps the rule before until then', async () => {
    const { put, faults, asked, named, rule } = await show();
    await put('Row 2, sole depth, number', 'thick');
    expect(faults()).toEqual(['Row 2, sole depth must be a number from 0 to 60 mm: thick.']);
    expect(named('Row 2, sole depth, number').getAttribute('aria-invalid')).toBe('true');
    await put('Row 2, sole depth, number', '99');
    expect(faults()).toEqual(['Row 2, sole depth must be a number from 0 to 60 mm: 99.']);
    // A bound waits for its number.
    await put('Row 1, sole depth', 'below');
    expect(asked).toHaveBeenCalledTimes(1);
    await put('Row 2, sole depth, number', '14');
    expect(faults()).toEqual(['Row 1, sole depth must be a number from 0 to 60 mm: nothing.']);
    await put('Row 1, sole depth, number', '9');
    expect(faults()).toEqual([]);
    expect(rule().rows.map((row: typeof SECOND) => row.when.sole_depth_mm)).toEqual([
      { below: 9 },
      { at_least: 14 },
    ]);
  });

  it('reads and shows inches, fractions too, and leaves in mm what was not touched', async () => {
    const { put, named, rule, faults, host } = await show('in');
    expect(named<HTMLInputElement>('Row 2, sole depth, number').value).toBe('0.59');
    await put('Row 1, ground', 'soft');
    expect(rule().rows[1].when.sole_depth_mm).toEqual({ at_least: 15 });
    await put('Row 2, sole depth, number', '5/8');
    expect(rule().rows[1].when.sole_depth_mm).toEqual({ at_least: 15.875 });
    await put('Row 2, sole depth, number', '5');
    expect(faults()).toEqual(['Row 2, sole depth must be a number from 0 to 2.362 in: 5.']);
    expect(host.querySelector('.choice-printed')?.textContent).toContain('sole depth at least 0.63 in');
  });

  it('keeps what was chosen before, unless the page can no longer read it', async () => {
    const kept = JSON.stringify({ rows: [SECOND], otherwise: 'bare' });
    expect((await show('mm', kept)).rule()).toEqual({ rows: [SECOND], otherwise: 'bare' });
    const strange = JSON.stringify({ rows: [{ when: { colour: 'grey' }, say: 'bare' }], otherwise: 'bare' });
    const other = await show('mm', strange);
    expect(other.rule()).toEqual({ rows: [FIRST, SECOND], otherwise: 'protect' });
  });

  it('prints in words', async () => {
    const { host } = await show();
    expect([...host.querySelectorAll('.choice-printed p')].map((each) => each.textContent)).toEqual([
      'When a sole may stay bare',
      '1. tenderness 1 or more: protect',
      '2. ground soft, sole depth at least 15 mm: may stay bare',
      'otherwise: protect',
    ]);
  });
});

describe('the text of such a choice', () => {
  it.each([
    [
      'at_least: 15',
      'at_least: 150',
      /^rows\.1 sole depth must be at least or below a number from 0 to 60 mm/,
    ],
    ['terrain: soft,', 'terrain: sandy,', /^rows\.1 ground must be one of soft, firm: sandy$/],
    ['otherwise: protect', 'otherwise: shoe', /^otherwise must be bare or protect: shoe$/],
    [
      'sensitivity: {at_least: 1}',
      'sensitivity: {at_least: 2}',
      /^rows\.0 tenderness must be one of below 1, at least 1/,
    ],
    ['say: bare', 'then: bare', /^rows\.1 say must be bare or protect: missing$/],
  ])('%s written as %s is told with its line', (right, wrong, message) => {
    const { problems } = parsePage(pageText(BODY.replace(right, wrong)));
    expect(problems[0]).toMatchObject({ entry: 'rule', message: expect.stringMatching(message) });
    const line =
      pageText(BODY.replace(right, wrong))
        .split('\n')
        .findIndex((each) => each.includes(wrong.split(':')[0]!) && each.includes(wrong)) + 1;
    expect(problems[0]?.line).toBe(line);
  });

  it('begins on the shipped page with the rule of common practice', () => {
    const text = readFileSync('notebooks/protection.md', 'utf8');
    const entry = parsePage(text).entries.find(({ name }) => name === 'rule');
    if (entry?.kind !== 'choice' || entry.body.kind !== 'rules') throw new Error('no rule on the page');
    const { rows, otherwise } = entry.body;
    expect(readRule(JSON.stringify({ rows, otherwise }))).toEqual(readRule(COMMON_RULE_TEXT));
  });
});
