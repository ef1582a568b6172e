import { architecturePicture } from './architecture-picture.ts';
import { columnList } from './column-list.ts';
import { sourceFiles } from './imports.ts';

/** Documents that are made from the code, by path: `npm run documents` writes them, a test holds them to it. */
export function generatedDocuments(): Readonly<Record<string, string>> {
  return {
    'docs/architecture.svg': architecturePicture(sourceFiles('src')),
    'docs/columns.md': columnList(),
  };
}
