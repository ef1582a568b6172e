// @vitest-environment jsdom
import { signal } from '@preact/signals';
import { render } from 'preact';
import { act } from 'preact/test-utils';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { AppState } from '../../src/app/app-state.ts';
import type { Inspection } from '../../src/app/herd-service.ts';
import { MappingSheet } from '../../src/app/parts/mapping-sheet.tsx';
import { inspectFile } from '../../src/intake/open.ts';
import { proposeMapping } from '../../src/intake/propose.ts';
import { bytesOf } from '../intake/admit.ts';

let host: HTMLElement;
beforeEach(() => {
  host = document.createElement('div');
  document.body.append(host);
});
afterEach(() => {
  act(() => render(null, host));
  host.remove();
});

const labelled = (label: string): HTMLSelectElement => {
  const found = host.querySelector<HTMLSelectElement>(`select[aria-label="${label}"]`);
  if (!found) throw new Error(`no choice named so: ${label}`);
  return found;
};

async function choose(label: string, value: string): Promise<void> {
  await act(async () => {
    labelled(label).value = value;
    labelled(label).dispatchEvent(new Event('change', { bubbles: true }));
    await Promise.resolve();
  });
}

/** The sheet over one file, with a state that does only what the sheet asks of it. */
async function show(text: string): Promise<{ current(): Inspection }> {
  const { source, mapping, rowCount } = await inspectFile({ name: 'x.csv', bytes: bytesOf(text) });
  const base = {
    file: 'x.csv',
    format: 'delimited',
    encoding: 'utf-8',
    delimiter: 'comma',
    rowCount,
  } as const;
  let current: Inspection = { ...base, mapping, remembered: false };
  const draw = (): void => {
    void act(() => render(<MappingSheet state={state} inspections={[current]} />, host));
  };
  const state = {
    loaded: signal(null),
    sheet: signal({ kind: 'none' }),
    trouble: signal(null),
    hemisphere: signal('north'),
    keeping: { study: signal({ records: null, amendments: [] }) },
    changeMapping(_file: string, changed: Inspection['mapping']) {
      current = { ...current, mapping: changed };
      draw();
    },
    herd: {
      call: (_name: string, { kind }: { kind: 'visits' | 'horses' }) =>
        Promise.resolve(proposeMapping(source, kind)),
    },
  } as unknown as AppState;
  draw();
  return { current: () => current };
}

const readButton = (): HTMLButtonElement => host.querySelector('button.main') as HTMLButtonElement;

describe('the mapping sheet', () => {
  it('takes the unit of a column that is given a length from its values', async () => {
    await show('horse,date,foot,Reading\na,2026-03-09,LF,3.37\nb,2026-03-09,LF,3.55\n');
    await choose('Read Reading as', 'toe_before_mm');
    expect(labelled('Unit of Reading').value).toBe('in');
    expect(host.textContent).toContain('as you chose; inches by their size');
  });

  it('asks for a unit that the values leave open, and reads no row before', async () => {
    await show('horse,date,foot,Reading\na,2026-03-09,LF,1.5\nb,2026-03-09,LF,2\n');
    expect(readButton().disabled).toBe(false);
    await choose('Read Reading as', 'heel_before_mm');
    expect([labelled('Unit of Reading').value, readButton().disabled]).toEqual(['', true]);
    await choose('Unit of Reading', 'cm');
    expect([labelled('Unit of Reading').value, readButton().disabled]).toEqual(['cm', false]);
  });

  it('reads a file as horses where the user says so', async () => {
    const { current } = await show('Horse,Breed,Date\na,Shire,2026-03-09\n');
    expect(host.textContent).toContain('No column says which foot.');
    await choose('What x.csv holds', 'horses');
    expect(current().mapping.kind).toBe('horses');
    expect([labelled('Read Breed as').value, readButton().disabled]).toEqual(['breed', false]);
  });

  it('says what is missing and what is odd, and nothing of the ordinary', async () => {
    await show('Duke,2026-03-09,LF,88\nMoss,2026-03-10,LF,85\n');
    expect(host.textContent).toContain('The first line looks like a row, not a header');
    expect(host.textContent).toContain('No toe length was found: growth will have nothing to show.');
    expect(host.textContent).not.toMatch(/utf-8|comma|decimal/i);
  });
});
