import AxeBuilder from '@axe-core/playwright';
import { expect, openPage, test } from './watched-page.ts';

for (const scheme of ['light', 'dark'] as const) {
  for (const id of ['caseload', 'growth', 'recurrence', 'interval']) {
    test(`${id} keeps WCAG 2.2 AA as far as a tool can tell, ${scheme}`, async ({ page }) => {
      await page.emulateMedia({ colorScheme: scheme });
      await openPage(page, id);
      const { violations } = await new AxeBuilder({ page })
        .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
        .analyze();
      expect(
        violations.map(
          (v) =>
            `${v.id}: ${v.nodes
              .map((n) => n.html)
              .slice(0, 3)
              .join(' | ')}`,
        ),
      ).toEqual([]);
    });
  }
}
