import { expect, openPage, settled, test } from './watched-page.ts';

test('the demo herd: figures say n, open their rows, and are computed again as little as need be', async ({
  page,
}) => {
  await openPage(page, 'growth');

  await test.step('every chart says n and stands as a table too', async () => {
    const charts = page.locator('[data-kind="chart"]');
    await expect.poll(() => charts.count()).toBeGreaterThan(2);
    for (let i = 0; i < (await charts.count()); i++) {
      await expect(charts.nth(i).locator('figcaption')).toContainText(/\d+ (to \d+ )?horses/);
      await charts.nth(i).getByText('Show as table').click();
      await expect(charts.nth(i).getByRole('table')).toBeVisible();
    }
  });

  await test.step('the rows behind a sentence are as many as it says, and go away again', async () => {
    const sentence = page.locator('[data-kind="findings"] li').first();
    const said = /([\d,]+) trim cycles/.exec((await sentence.textContent()) ?? '')?.[1];
    expect(said).toBeTruthy();
    await sentence.getByRole('button', { name: 'Rows behind this' }).click();
    await expect(page.getByTestId('rows-count')).toContainText(`${said} trim cycles`);
    await expect(page.getByTestId('rows-panel').getByRole('grid')).toContainText('H001');
    await page.keyboard.press('Escape');
    await expect(page.getByTestId('rows-panel')).toHaveCount(0);
  });

  await test.step('a mark of a plot opens the rows behind it', async () => {
    await page.locator('[data-entry="by_group"] svg [data-row]').last().click();
    await expect(page.getByTestId('rows-count')).toContainText('trim cycles');
    await page.keyboard.press('Escape');
    await expect(page.getByTestId('rows-panel')).toHaveCount(0);
  });

  await test.step('a choice recomputes what depends on it and nothing else', async () => {
    const runs = async (name: string): Promise<number> =>
      Number(await page.locator(`[data-entry="${name}"]`).getAttribute('data-runs'));
    const before = { rates: await runs('rates'), worn: await runs('worn'), angle: await runs('angle') };
    await page.locator('[data-entry="wear_split"] select').selectOption({ label: 'Moisture' });
    await expect(page.locator('[data-entry="worn"]')).toHaveAttribute('data-runs', String(before.worn + 1));
    await settled(page);
    expect(await runs('rates')).toBe(before.rates);
    expect(await runs('angle')).toBe(before.angle);
  });

  await test.step('narrowing the herd changes n and the answers', async () => {
    const before = await page.locator('[data-entry="answers"]').textContent();
    await page.getByRole('button', { name: 'Narrow the herd' }).click();
    await page.getByRole('checkbox', { name: /^draft/ }).check();
    await expect(page.getByTestId('cohort')).toContainText('18 of 120 horses');
    await settled(page);
    const after = await page.locator('[data-entry="answers"]').textContent();
    expect(after).not.toBe(before);
    expect(after).toContain('18 horses');
    await page.getByRole('button', { name: 'Whole herd' }).click();
    await expect(page.getByTestId('cohort')).toContainText('120 of 120 horses');
  });
});
