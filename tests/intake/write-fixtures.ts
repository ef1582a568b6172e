import { mkdirSync, writeFileSync } from 'node:fs';
import { messyExport, wideExport, windows1252 } from './messy.ts';

/** Writes tests/fixtures/; run with `npx tsx tests/intake/write-fixtures.ts` after a change to messy.ts. */
const folder = new URL('../fixtures/', import.meta.url);
mkdirSync(folder, { recursive: true });
writeFileSync(new URL('messy-export.csv', folder), windows1252(messyExport().text));
writeFileSync(new URL('wide-export.csv', folder), wideExport().text);
