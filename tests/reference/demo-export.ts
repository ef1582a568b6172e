// Writes the demo herd's rows for R: npx tsx tests/reference/demo-export.ts
import { existsSync, writeFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { DEMO_ROWS, openDemo, rowsFile, rowsText, sha256, storedRows } from './demo-rows.ts';

const engine = await openDemo();
for (const [name, gather] of Object.entries(DEMO_ROWS)) {
  const text = rowsText(await gather(engine));
  const same = existsSync(rowsFile(name)) && storedRows(name) === text;
  if (!same) writeFileSync(rowsFile(name), gzipSync(text, { level: 9 }));
  console.log(
    `${name}: ${text.split('\n').length - 2} rows, ${same ? 'as before' : 'written'}, ${sha256(text).slice(0, 12)}`,
  );
}
await engine.close();
