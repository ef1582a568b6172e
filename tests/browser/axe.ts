import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from '@playwright/test';

/** The checker itself, as its package for Playwright brings it. */
const RULES = readFileSync(
  createRequire(createRequire(import.meta.url).resolve('@axe-core/playwright')).resolve(
    'axe-core/axe.min.js',
  ),
  'utf8',
);
/** The rules of WCAG 2.2 AA, by the checker's tags. */
const WCAG = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

/** All rules of WCAG 2.2 AA that a tool can tell; with good practice; those of colour; or those that a narrower window can break. */
const CHECKS = {
  all: { type: 'tag', values: WCAG },
  practice: { type: 'tag', values: [...WCAG, 'best-practice'] },
  colour: { type: 'rule', values: ['color-contrast', 'link-in-text-block'] },
  narrow: { type: 'rule', values: ['scrollable-region-focusable', 'target-size'] },
} as const;

/**
 * What a page has by the hundred and all alike, so that a few stand for all: rows of a table, and the parts of a
 * drawing, which to a screen reader is one picture with one name.
 */
const ALIKE = ['.result-table tbody tr:nth-child(n + 6)', '.chart-frame svg > *'];

interface Axe {
  run(context: object, options: object): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }>;
}

/**
 * What is wrong with the screen as it stands, or with a part of it: a grid has a thousand cells to look at. The checker is brought into the page once, not for every look: a walk
 * looks at each page many times.
 */
export async function violations(
  page: Page,
  checks: keyof typeof CHECKS,
  within = 'html',
): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in globalThis))) await page.evaluate(RULES);
  return page.evaluate(
    async ({ runOnly, include, exclude }) => {
      const { axe } = globalThis as unknown as { axe: Axe };
      const context = { include: [include], exclude: exclude.map((each) => [each]) };
      const { violations } = await axe.run(context, { runOnly, resultTypes: ['violations'] });
      return violations.map(({ id, nodes }) => {
        const some = nodes.slice(0, 3).map(({ html }) => html);
        return `${id}: ${some.join(' | ')}`;
      });
    },
    { runOnly: CHECKS[checks], include: within, exclude: ALIKE },
  );
}
