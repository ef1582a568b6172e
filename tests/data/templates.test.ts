import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { rowsOf } from '../../src/core/table.ts';
import { mappingProblems } from '../../src/intake/mapping.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { admit } from '../intake/admit.ts';

const ROOT = new URL('../../', import.meta.url);
const recipes = readFileSync(new URL('docs/from-your-records.md', ROOT), 'utf8');

/** The examples of docs/from-your-records.md, with what each of them says of the rows set aside. */
const EXAMPLES = [
  {
    files: ['spreadsheet-tab-alder-end.csv', 'spreadsheet-tab-stonegate.csv'],
    aside: [[6, 'RH', 'Thistledown', /longer after the trim \(90 mm\) than before \(78.5 mm\)/]],
    notices: /1 breed of no known type, left without one: “cob”/,
  },
  {
    files: ['database-visits.csv', 'database-horses.csv'],
    aside: [
      [19, 'LF', 'P-0112', /^the same as line 18$/],
      [32, 'RF', 'P-0131', /outside 30 to 180 mm: 1047 mm/],
    ],
    notices: /^$/,
  },
  {
    files: ['paper-cards.csv'],
    aside: [[18, 'LF', 'Old Marl', /no such day in the calendar/]],
    notices: /^$/,
  },
] as const;

it.each(EXAMPLES)(
  '$files are read without help, and their rows counted as the recipe says',
  async (example) => {
    const files = example.files.map((name) => ({
      name,
      text: new Uint8Array(readFileSync(new URL(`data/templates/${name}`, ROOT))),
    }));
    for (const { name, text } of files) {
      const { mapping } = await inspectFile({ name, bytes: text });
      expect(mappingProblems(mapping)).toEqual([]);
      // Every column is known, and none by a guess.
      expect(mapping.columns.filter((c) => c.target === null || c.confidence === 'guess')).toEqual([]);
      expect(recipes).toContain(`(../data/templates/${name})`);
    }
    const { report, setAside } = await admit(files);
    expect(report.identityHolds).toBe(true);
    expect(recipes).toContain(
      `${report.rowsRead} rows read = ${report.admitted} admitted + ${report.setAside} set aside`,
    );
    const told = rowsOf(setAside);
    expect(told.map(({ line, foot, horse_id }) => [line, foot, horse_id])).toEqual(
      example.aside.map(([line, foot, horse]) => [line, foot, horse]),
    );
    told.forEach(({ reason, line }, k) => {
      expect(reason).toMatch(example.aside[k]?.[3] ?? /./);
      expect(recipes.toLowerCase()).toContain(`line ${line}`);
    });
    const notices = report.notices.filter((notice) => !notice.includes('above the header'));
    expect(notices.join(' ')).toMatch(example.notices);
  },
);
