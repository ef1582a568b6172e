// `npm run documents`: writes again what is made from the code, and says what else documents say that is not so.
// `npm run documents -- --check` writes nothing. Either ends with status 1 where something is amiss.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { documentFaults } from './documents/faults.ts';
import { generatedDocuments } from './documents/generated.ts';
import { ROOT } from './documents/imports.ts';

const { values } = parseArgs({ options: { check: { type: 'boolean', default: false } } });
for (const [path, text] of Object.entries(generatedDocuments())) {
  const file = join(ROOT, path);
  const same = existsSync(file) && readFileSync(file, 'utf8') === text;
  if (!values.check && !same) writeFileSync(file, text);
  console.log(`${path}: ${same ? 'as before' : values.check ? 'has drifted' : 'written'}`);
  if (values.check && !same) process.exitCode = 1;
}
const faults = documentFaults();
for (const fault of faults) console.error(fault);
if (faults.length > 0) process.exitCode = 1;
