import { build } from 'vite';
import { expect, it } from 'vitest';
import { noProbes } from '../../src/tasks/no-probes.ts';

it('puts the answer in place of a question that makes code from text', async () => {
  const entry = "import probe from '@stdlib/assert-has-generator-support'; export const known = probe();";
  const result = await build({
    configFile: false,
    logLevel: 'error',
    build: { write: false, minify: false, lib: { entry: 'entry', formats: ['es'] } },
    plugins: [
      noProbes(),
      {
        name: 'entry',
        resolveId: (id) => (id.endsWith('entry') ? '\0entry' : null),
        load: (id) => (id === '\0entry' ? entry : null),
      },
    ],
  });
  const [first] = Array.isArray(result) ? result : [result];
  const code = first && 'output' in first ? first.output[0].code : '';
  const { known } = (await import(`data:text/javascript,${encodeURIComponent(code)}`)) as { known: unknown };
  expect(known).toBe(true);
  expect(code).not.toMatch(/function\*|eval/);
});
