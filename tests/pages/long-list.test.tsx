// @vitest-environment jsdom
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, expect, it, vi } from 'vitest';
import { ChoiceControl } from '../../src/pages/choice-control.tsx';
import type { EntryState } from '../../src/pages/entry-state.ts';
import type { EntryOf } from '../../src/pages/page.ts';
import { parsePage } from '../../src/pages/parse-page.ts';

const ENTRY = parsePage(
  '---\ntitle: T\nsummary: S\n---\n\n```choice which\nkind: list\nlabel: Horse\noptions:\n  - {value: H0, label: Horse 0}\n```\n',
).entries[0] as EntryOf<'choice'>;

let host: HTMLElement;
afterEach(() => {
  act(() => render(null, host));
  host.remove();
});

/** A list of so many horses, of which one is chosen. */
function listOf(horses: number, value: string) {
  const options = Array.from({ length: horses }, (_, k) => ({ value: `H${k}`, label: `Horse ${k}` }));
  const state = { status: 'done', result: { kind: 'choice', value, options } } as unknown as EntryState;
  const onChoose = vi.fn();
  host = document.createElement('div');
  document.body.append(host);
  act(() => render(<ChoiceControl entry={ENTRY} state={state} onChoose={onChoose} />, host));
  const listed = () => [...host.querySelectorAll('option')].map((option) => option.value);
  const search = host.querySelector<HTMLInputElement>('input[type="search"]')!;
  const type = (text: string) =>
    act(() => {
      search.value = text;
      search.dispatchEvent(new Event('input', { bubbles: true }));
    });
  return { listed, search, type, onChoose, said: () => host.querySelector('[role="status"]')?.textContent };
}

it('lists the first of thousands of horses and the one that is chosen, and says that there are more', () => {
  const { listed, said } = listOf(9_656, 'H5000');
  expect(listed()).toHaveLength(201);
  expect(listed()).toContain('H199');
  expect(host.querySelector('select')!.value).toBe('H5000');
  expect(said()).toBe('the first 200 of 9,656 are listed');
});

it('finds any of them by a few letters, and Enter takes the first', () => {
  const { listed, search, type, said, onChoose } = listOf(9_656, 'H0');
  type('orse 732');
  expect(listed()).toEqual(['H732', ...Array.from({ length: 10 }, (_, k) => `H732${k}`), 'H0']);
  expect(said()).toBe('11 found, Horse 732 first');
  act(() => {
    search.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }));
  });
  expect(onChoose).toHaveBeenCalledExactlyOnceWith('H732');
});

it('lists all of two hundred, and says nothing', () => {
  const { listed, said } = listOf(200, 'H7');
  expect(listed()).toHaveLength(200);
  expect(said()).toBe('');
});
