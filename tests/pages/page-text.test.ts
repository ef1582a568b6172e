import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ANALYSES } from '../../src/analyses/index.ts';
import { describeAnalyses } from '../../src/app/page-desk.ts';
import { optionFields } from '../../src/pages/analysis-fields.ts';
import { chartBody, endsFor } from '../../src/pages/chart-builder.ts';
import {
  entryText,
  fileStem,
  freeName,
  insertBlock,
  NEW_PAGE,
  nameFault,
  placeAfter,
  withTitle,
} from '../../src/pages/page-text.ts';
import { parsePage } from '../../src/pages/parse-page.ts';

const PAGE = [
  '---', // 1
  'title: Old',
  '---',
  '',
  'One line of text', // 5
  'and its second.',
  '',
  '```query q', // 8
  'SELECT 1 AS a',
  '',
  'ORDER BY a',
  '```', // 12
  '',
  'Last words.', // 14
].join('\n');

describe('entryText', () => {
  it('gives text that reads back as what was put in, whatever it holds', () => {
    fc.assert(
      fc.property(
        fc.string({ minLength: 1 }),
        fc.string(),
        fc.double({ noNaN: true, noDefaultInfinity: true }),
        (label, caption, limit) => {
          fc.pre(label.trim() !== '');
          const max = Math.abs(limit) + 1;
          const text = entryText('choice', 'c', { kind: 'range', label, unit: caption, min: 0, max });
          const { entries, problems } = parsePage(`---\ntitle: T\n---\n${text}`);
          expect(problems).toEqual([]);
          expect(entries[0]).toMatchObject({ kind: 'choice', body: { label, min: 0, max } });
        },
      ),
    );
  });

  it('closes a fence that the body could not close', () => {
    const text = entryText('query', 'q', "SELECT '```' AS a");
    expect(parsePage(`---\ntitle: T\n---\n${text}`).entries).toHaveLength(1);
  });
});

describe('placeAfter and insertBlock', () => {
  it('never lands in the front matter, in a paragraph or inside an entry', () => {
    const block = entryText('query', 'fresh', 'SELECT 2 AS b');
    for (let line = 1; line <= 14; line += 1) {
      const put = insertBlock(PAGE, placeAfter(PAGE, line), block);
      const page = parsePage(put.text);
      expect(page.problems).toEqual([]);
      expect(page.entries.map(({ name }) => name).sort()).toEqual(['fresh', 'q']);
      expect(page.entries.find(({ name }) => name === 'fresh')?.line).toBe(put.line);
      expect(put.text).toContain('One line of text\nand its second.');
      expect(put.text).toContain('SELECT 1 AS a\n\nORDER BY a');
    }
  });

  it('puts a block after the entry in which the cursor stands', () => {
    expect(placeAfter(PAGE, 9)).toBe(12);
    expect(placeAfter(PAGE, 5)).toBe(6);
    expect(placeAfter(PAGE, 1)).toBe(3);
  });

  it('works on a new page', () => {
    const put = insertBlock(NEW_PAGE, placeAfter(NEW_PAGE, 1), '```query q\nSELECT 1 AS a\n```\n');
    expect(parsePage(put.text).problems).toEqual([]);
  });
});

describe('withTitle', () => {
  it('changes the title and nothing else, whatever the title holds', () => {
    fc.assert(
      fc.property(fc.string({ minLength: 1 }), (title) => {
        fc.pre(title.trim() !== '' && !/[\r\n\u0085\u2028\u2029]/.test(title));
        const page = parsePage(withTitle(PAGE, title));
        expect(page.problems).toEqual([]);
        expect(page.front.title).toBe(title);
        expect(page.entries.map(({ source }) => source)).toEqual(
          parsePage(PAGE).entries.map(({ source }) => source),
        );
      }),
    );
  });

  it('gives a page without front matter one', () => {
    expect(parsePage(withTitle('Only words.', 'T')).front.title).toBe('T');
  });
});

describe('names', () => {
  it('are made of words, free on the page, and never one of the herd’s', () => {
    const page = parsePage(PAGE);
    expect(freeName('Toe Längen (mm)', page)).toBe('toe_langen_mm');
    expect(freeName('q', page)).toBe('q_2');
    expect(freeName('foot visit', page)).toBe('foot_visit_2');
    expect(freeName('???', page)).toBe('entry');
    expect(nameFault('foot_visit', page)).toContain('own tables');
    expect(nameFault('Q', page)).toContain('Another entry');
    expect(nameFault('2x', page)).toContain('letter first');
    expect(nameFault('fine', page)).toBeNull();
    expect(fileStem('Füße: im Winter / 2026')).toBe('fu-e-im-winter-2026');
  });
});

describe('optionFields', () => {
  it('offer every option of every analysis, each starting with what the analysis itself starts with', () => {
    for (const description of describeAnalyses()) {
      const analysis = ANALYSES.find(({ name }) => name === description.name)!;
      const fields = optionFields(description);
      const defaults = analysis.options.parse({}) as Record<string, unknown>;
      expect(fields.map(({ name }) => name).sort()).toEqual(Object.keys(defaults).sort());
      for (const field of fields) expect(field.initial).toEqual(defaults[field.name]);
      const listed = fields.filter(({ kind }) => kind === 'one-of');
      for (const field of listed) {
        if (field.kind !== 'one-of') continue;
        for (const { value } of field.values) {
          expect(analysis.options.safeParse({ [field.name]: value }).success).toBe(true);
        }
      }
    }
  });
});

describe('chartBody', () => {
  it('is a chart that a page can read, with ends around the value where the table has them', () => {
    const columns = ['level', 'estimate', 'conf_low', 'conf_high'];
    const ends = endsFor(columns, 'level', 'estimate');
    expect(ends).toEqual({ low: 'conf_low', high: 'conf_high', along: 'y' });
    expect(endsFor(columns, 'estimate', 'level')?.along).toBe('x');
    expect(endsFor(['level', 'estimate'], 'level', 'estimate')).toBeNull();
    for (const mark of ['dot', 'line', 'bar', 'step'] as const) {
      const plan = {
        data: 'r.levels',
        mark,
        x: 'level',
        y: 'estimate',
        by: 'level',
        ends,
        title: 'A: b',
        zero: true,
      };
      const page = parsePage(`---\ntitle: T\n---\n${entryText('chart', 'c', chartBody(plan))}`);
      expect(page.problems).toEqual([]);
      expect(page.entries[0]).toMatchObject({ body: { title: 'A: b', y: { zero: true } } });
    }
  });
});
