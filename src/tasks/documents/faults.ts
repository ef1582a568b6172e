import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { commandFaults, type Package } from './command-faults.ts';
import { figureFaults } from './figure-faults.ts';
import { FIGURES } from './figures.ts';
import { ROOT } from './imports.ts';
import { labelFaults } from './label-faults.ts';
import { linkFaults } from './link-faults.ts';
import { documents } from './markdown.ts';

/** Whatever a document says that is not so: links, headings, files, commands, words on the screen, and figures made by programs. */
export function documentFaults(): string[] {
  const all = documents();
  const about = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as Package;
  return [
    ...all.flatMap((document) => [
      ...linkFaults(document),
      ...commandFaults(document, about),
      ...labelFaults(document),
    ]),
    ...figureFaults(FIGURES, all),
  ];
}
