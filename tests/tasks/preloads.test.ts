import { expect, it } from 'vitest';
import { type BuiltFile, preloadsOf } from '../../src/tasks/preloads.ts';

const chunk = (fileName: string, imports: string[] = [], dynamicImports: string[] = []): BuiltFile => ({
  type: 'chunk',
  fileName,
  imports,
  dynamicImports,
});

it('parts scripts into those the first one asks for at once, with all they need, and the rest', () => {
  const built = [
    chunk('main.js', ['rpc.js'], ['shell.js']),
    chunk('rpc.js'),
    chunk('shell.js', ['main.js', 'words.js'], ['chart.js']),
    chunk('words.js', ['days.js']),
    chunk('days.js', ['words.js']),
    chunk('chart.js', ['words.js', 'scales.js']),
    chunk('scales.js'),
    { type: 'asset', fileName: 'worker-1x.js' },
    { type: 'asset', fileName: 'engine.wasm' },
  ] as const;
  const files = Object.fromEntries(built.map((file) => [file.fileName, file]));
  const { early, later } = preloadsOf('main.js', files, /^worker-\w+\.js$/);
  expect([...early].sort()).toEqual(['days.js', 'rpc.js', 'shell.js', 'words.js', 'worker-1x.js']);
  expect([...later].sort()).toEqual(['chart.js', 'scales.js']);
});
