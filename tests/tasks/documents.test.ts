import { describe, expect, it } from 'vitest';
import { folderArrows, inOrder } from '../../src/tasks/documents/architecture-picture.ts';
import { commandFaults, commandsOf } from '../../src/tasks/documents/command-faults.ts';
import { figureFaults, written } from '../../src/tasks/documents/figure-faults.ts';
import { type Import, sourceFiles } from '../../src/tasks/documents/imports.ts';
import { labelFaults } from '../../src/tasks/documents/label-faults.ts';
import { linkFaults } from '../../src/tasks/documents/link-faults.ts';
import { anchorsOf, documents } from '../../src/tasks/documents/markdown.ts';

const page = (text: string) => ({ path: 'docs/invented.md', text });

describe('documents', () => {
  it('are all read, however deep', () => {
    const paths = documents().map(({ path }) => path);
    expect(paths).toEqual(
      expect.arrayContaining(['README.md', 'DEVELOPERS.md', 'data/README.md', 'docs/methods/growth.md']),
    );
    expect(paths.filter((path) => path.includes('node_modules'))).toEqual([]);
  });

  it('may lead only to files and headings that are there', () => {
    const text = `# Here and there

[a](../README.md) [b](../README.md#start) [c](#here-and-there) ![d](pictures/none.png) [e](../README.md#nowhere)
[f](https://example.org/x) and \`[g](no-link.md)\`, \`src/nowhere.ts\`, \`figures.ts\`, \`nobody-wrote-this.ts\`

    [h](code.md)
`;
    expect(linkFaults(page(text))).toEqual([
      'docs/invented.md leads to pictures/none.png, which is not there',
      'docs/invented.md leads to ../README.md#nowhere, a heading that is not there',
      'docs/invented.md names src/nowhere.ts, which is not there',
      'docs/invented.md names nobody-wrote-this.ts, which is not there',
    ]);
  });

  it('have anchors as hosts of repositories make them', () => {
    expect([
      ...anchorsOf('# A `name`, and (more)\n## A\n## A\n```\n# code\n```\n## [Link](x.md) 3–4\n'),
    ]).toEqual(['a-name-and-more', 'a', 'a-1', 'link-34']);
  });

  it('may give only commands that exist, with files and options that do', () => {
    const text = `Try \`npm run fly\`, \`npm run audit -- a.csv --out x\` or \`npm run documents -- --check\`.

    npm test            # everything
    npm run audit -- a.csv --out x --faster
    npx tsx data/generate.ts --rows 10 --out data/generated/new
    npx vitest run tests/nothing
    npx wonder

\`\`\`
node src/tasks/start.mjs
npm dance
\`\`\`
`;
    const scripts = {
      test: 'node src/tasks/test.mjs',
      audit: 'node src/tasks/audit.mjs',
      documents: 'tsx src/tasks/documents.ts',
    };
    expect(commandsOf(text)).toHaveLength(10);
    expect(
      commandFaults(page(text), { scripts }).map((fault) => fault.replace('docs/invented.md: ', '')),
    ).toEqual([
      '`npm run audit -- a.csv --out x --faster`: --faster is no option of src/batch/main.ts',
      '`npx vitest run tests/nothing`: tests/nothing is not there',
      '`npx wonder`: wonder is not a program of this project',
      '`npm dance`: no script dance',
      '`npm run fly`: no script fly',
    ]);
  });

  it('may name only words that stand on the screen, in guides', () => {
    const text = 'Choose **Narrow\nthe herd**, then **Bake a cake**.';
    expect(labelFaults({ path: 'docs/guide-baker.md', text })).toEqual([
      'docs/guide-baker.md gives “Bake a cake” as standing on the screen, and it does not',
    ]);
    expect(labelFaults(page(text))).toEqual([]);
  });

  it('must give the figures of their sources', () => {
    const document = page('In all there were 1,234\nrows of 5 horses (−0.5).');
    const figure = (says: string, ...are: string[]) => ({ document: document.path, says, are: () => are });
    expect(figureFaults([figure('{} rows of {} horses ({})', '1,234', '5', '−0.5')], [document])).toEqual([]);
    expect(figureFaults([figure('{} rows', '1,235')], [document])[0]).toContain('1,234 should be 1,235');
    expect(figureFaults([figure('{} donkeys', '1')], [document])[0]).toContain('no longer says');
    expect([written(11846), written(2.1864, 2), written(-1.3863, 3)]).toEqual(['11,846', '2.19', '−1.386']);
  });
});

describe('the picture of the folders', () => {
  const taking = (path: string, ...targets: string[]) => ({
    path,
    text: '',
    imports: targets.map(
      (target): Import => ({ target, isPackage: false, isTypeOnly: false, isAddress: false }),
    ),
  });

  it('counts imports between folders, and not within one', () => {
    const arrows = folderArrows([
      taking('src/a/x.ts', 'src/b/x.ts', 'src/b/y.ts', 'src/a/y.ts'),
      taking('src/b/x.ts', 'src/c/x.ts'),
    ]);
    expect(arrows).toEqual([
      { from: 'a', to: 'b', imports: 2 },
      { from: 'b', to: 'c', imports: 1 },
    ]);
    expect(inOrder(['c', 'b', 'a'], arrows)).toEqual(['a', 'b', 'c']);
    expect(() => inOrder(['a', 'b'], [...arrows, { from: 'b', to: 'a', imports: 1 }])).toThrow('ring');
  });

  it('has every import of src go down the picture', () => {
    const arrows = folderArrows(sourceFiles('src'));
    expect(arrows.length).toBeGreaterThan(20);
    expect(arrows).toContainEqual(expect.objectContaining({ from: 'engine', to: 'core' }));
  });
});
