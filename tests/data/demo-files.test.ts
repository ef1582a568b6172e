import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { demoFiles } from '../../data/demo-files.ts';
import { dataFolder, demoBytes } from './read-demo.ts';

const NAMES = [
  'demo-horses.csv',
  'demo-horses.parquet',
  'demo-visits.csv',
  'demo-visits.parquet',
  'truth.json',
];

test('the committed files are what the generator makes', () => {
  const made = demoFiles();
  expect(Object.keys(made).sort()).toEqual(NAMES);
  const differing = NAMES.filter((name) => !Buffer.from(made[name]! as string).equals(demoBytes(name)));
  expect(differing).toEqual([]);
});

test.each(['Pacific/Auckland', 'America/St_Johns'])(
  'the command line writes the same bytes in %s',
  (zone) => {
    const folder = mkdtempSync(join(tmpdir(), 'herd-'));
    try {
      const script = join(dataFolder, 'generate.ts');
      execFileSync(process.execPath, ['--import', 'tsx', script, '--out', folder], {
        env: { ...process.env, TZ: zone },
      });
      expect(readdirSync(folder).sort()).toEqual(NAMES);
      const differing = NAMES.filter((name) => !readFileSync(join(folder, name)).equals(demoBytes(name)));
      expect(differing).toEqual([]);
    } finally {
      rmSync(folder, { recursive: true });
    }
  },
);

test('the committed files stay small', () => {
  const bytes = NAMES.reduce((sum, name) => sum + statSync(join(dataFolder, name)).size, 0);
  expect(bytes).toBeLessThan(4_000_000);
});
