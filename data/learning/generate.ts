/** Writes the two learning herds beside this file: `npx tsx data/learning/generate.ts`. */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { LEARNING_HERDS, learningFiles } from './files.ts';

for (const herd of LEARNING_HERDS) {
  for (const [name, content] of Object.entries(learningFiles(herd))) {
    writeFileSync(fileURLToPath(new URL(name, import.meta.url)), content);
    console.log(`${name}: ${content.length} ${typeof content === 'string' ? 'characters' : 'bytes'}`);
  }
}
