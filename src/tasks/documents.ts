// `npm run documents`: writes again what is made from the code. `npm run documents -- --check` writes nothing and ends
// with status 1 where something has drifted.
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { generatedDocuments } from './documents/generated.ts';
import { ROOT } from './documents/imports.ts';

const { values } = parseArgs({ options: { check: { type: 'boolean', default: false } } });
for (const [path, text] of Object.entries(generatedDocuments())) {
  const file = join(ROOT, path);
  const same = readFileSync(file, 'utf8') === text;
  if (!values.check && !same) writeFileSync(file, text);
  console.log(`${path}: ${same ? 'as before' : values.check ? 'has drifted' : 'written'}`);
  if (values.check && !same) process.exitCode = 1;
}
