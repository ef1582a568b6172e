import { existsSync, readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { ANALYSES } from '../../src/analyses/index.ts';
import { openHerd, runAnalysis } from './run-analysis.ts';

const root = new URL('../../', import.meta.url);
const index = readFileSync(new URL('docs/methods/README.md', root), 'utf8');

it('every analysis has its method written down, and the list of methods leads there', async () => {
  const engine = await openHerd([{ horse_id: 'A', foot: 'LF', visit_date: '2024-03-01' }]);
  for (const { name } of ANALYSES) {
    const { method } = await runAnalysis(engine, name);
    expect(existsSync(new URL(method.doc, root)), method.doc).toBe(true);
    const line = index.split('\n').find((row) => row.startsWith(`| \`${name}\` |`));
    expect(line, name).toContain(`(${method.doc.replace('docs/methods/', '')})`);
    expect(method.source, name).toMatch(/\d{4}/);
  }
});
