import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { COMMON_RULE, COMMON_RULE_TEXT } from '../../src/analyses/protection-audit/verdict.ts';
import { decisionText } from '../../src/core/decision-table.ts';
import { startingValue } from '../../src/pages/entry-schemas.ts';
import { withDefaults } from '../../src/pages/page-defaults.ts';
import { entryText } from '../../src/pages/page-text.ts';
import { parsePage } from '../../src/pages/parse-page.ts';
import { commonRulesBody } from '../../src/pages/rules-example.ts';

const folder = new URL('../../notebooks/', import.meta.url);
const textOf = (name: string) => readFileSync(new URL(name, folder), 'utf8');
const startOf = (text: string, name: string) => {
  const { entries, problems } = parsePage(text);
  expect(problems).toEqual([]);
  const entry = entries.find((each) => each.name === name);
  return entry?.kind === 'choice' ? startingValue(entry.body) : undefined;
};

const PAGE = `---
title: Limits
---

Before.

\`\`\`choice weeks
kind: range
label: Weeks   # of the round
min: 3
max: 12
\`\`\`

\`\`\`choice day
kind: date
label: Day
default: 2026-01-01
\`\`\`

\`\`\`choice client
kind: list
label: Client
options: {of: clients, value: client_id}
\`\`\`

\`\`\`query clients
SELECT client_id FROM foot_visit ORDER BY 1
\`\`\`

After.
`;

describe('withDefaults', () => {
  it('writes in what was chosen, and keeps comments, order and the text around', () => {
    const text = withDefaults(PAGE, { weeks: 6, day: '2026-03-09' });
    const expected = PAGE.replace('max: 12\n', 'max: 12\ndefault: 6\n').replace('2026-01-01', '2026-03-09');
    expect(text.replace('Weeks #', 'Weeks   #')).toBe(expected);
    expect([startOf(text, 'weeks'), startOf(text, 'day')]).toEqual([6, '2026-03-09']);
  });

  it('writes no value of the records into a page', () => {
    expect(withDefaults(PAGE, { client: 'Yard by the mill' })).toBe(PAGE);
  });

  it('leaves a page as it is where nothing was changed', () => {
    for (const name of readdirSync(folder).filter((each) => each.endsWith('.md'))) {
      const text = textOf(name);
      const starting = parsePage(text).entries.flatMap((entry) => {
        const value = entry.kind === 'choice' ? startingValue(entry.body) : null;
        return value === null ? [] : [[entry.name, value]];
      });
      expect(withDefaults(text, Object.fromEntries(starting)), name).toBe(text);
    }
  });

  it('writes an edited rule as the page’s own', () => {
    const rule = decisionText({
      rows: [
        { when: { terrain: 'firm', sole_depth_mm: { at_least: 18 } }, say: 'bare' },
        ...COMMON_RULE.rows,
      ],
      otherwise: 'protect',
    });
    const text = withDefaults(textOf('protection.md'), { rule });
    expect(startOf(text, 'rule')).toBe(rule);
    expect(text).toContain('sole_depth_mm: { at_least: 18 } }, say: bare }');
    const before = textOf('protection.md').split('\n');
    expect(text.split('\n').slice(-20)).toEqual(before.slice(-20));
  });

  it('leaves an entry alone that is set in, rather than lose its place', () => {
    const text = PAGE.replace('```choice weeks\nkind: range', '  ```choice weeks\n  kind: range');
    expect(withDefaults(text, { weeks: 6 })).toBe(text);
  });
});

describe('commonRulesBody', () => {
  it('is a choice that a page can hold, with the rule of common practice', () => {
    const text = `---\ntitle: Soles\n---\n\n${entryText('choice', 'rule', commonRulesBody('When bare'))}`;
    expect(startOf(text, 'rule')).toBe(COMMON_RULE_TEXT);
  });
});
