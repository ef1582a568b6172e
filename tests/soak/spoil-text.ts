import fc from 'fast-check';
import type { Random } from '../../src/stats/random.ts';
import { changeCells, type Grid, someGrid, textOf } from './base-files.ts';
import { CODE, DATE_WAYS, FORMULAS, LENGTH_WAYS, NAMES, NO_DATES, NUMBER_WAYS } from './hostile-cells.ts';

/** Makes one bad file; the same seed makes the same. */
export type Spoil = (random: Random) => string | Uint8Array;

const isDate = (name: string): boolean => /date/i.test(name);
const isText = (name: string): boolean => /horse|client|yard|practitioner|notes|marker_id|breed/i.test(name);
const isLength = (name: string): boolean => /_mm$|\(cm\)/i.test(name);
const isNumber = (name: string): boolean =>
  /_mm$|\(cm\)|_deg$|grade|sensitivity|thrush|_kg$|year/i.test(name);

const numberFor = (random: Random): number => Math.round(10 * (5 + 90 * random.uniform())) / 10;
const CELL_BYTES = 10 * 1024 * 1024;
const MANY_COLUMNS = 5_000;

/** Bad files that are still texts, by what is bad about them. */
export const SPOILT_TEXTS: Readonly<Record<string, Spoil>> = {
  'ragged rows': (random) => {
    const grid = someGrid(random);
    for (let k = random.integer(1, 12); k > 0; k--) {
      const row = random.pick(grid.rows);
      if (random.uniform() < 0.5) row.splice(random.integer(0, row.length), random.integer(1, 9));
      else
        row.splice(
          random.integer(0, row.length),
          0,
          ...Array<string>(random.integer(1, 9)).fill(random.pick(['', 'x'])),
        );
    }
    return textOf(grid);
  },
  'quotation marks astray': (random) => {
    let text = textOf(someGrid(random), random.pick(['\n', '\r\n']));
    const mark = random.pick(['"', '"', '"', "'", '“', '""', '"\n']);
    if (random.uniform() < 0.3) text = text.replace(/\n/g, `\n${mark}`);
    for (let k = random.integer(1, 8); k > 0; k--) text = inserted(text, mark, random);
    return text;
  },
  'a quotation mark in every line of a longer file': (random) => {
    const grid = someGrid(random);
    const text = textOf(grid);
    const lines = text.split('\n').slice(1);
    const long = Array.from({ length: 400 }, () => lines.join('\n')).join('\n');
    const every = random.pick([1, 2, 5, 50]);
    return long
      .split('\n')
      .map((line, i) =>
        i === 0
          ? text.split('\n')[0]
          : i % every === 0
            ? random.pick([`"${line}`, line.replace(grid.delimiter, `${grid.delimiter}"`)])
            : line,
      )
      .join('\n');
  },
  'NUL and other control characters': (random) => {
    let text = textOf(someGrid(random));
    const sign = random.pick(['\0', '\0', '\x01', '\x1a', '\x1b[2J', '\b', '\f', '\v', '\x7f']);
    for (let k = random.pick([1, 5, 300]); k > 0; k--) text = inserted(text, sign, random);
    return text;
  },
  'a cell of 10 MB': (random) => {
    const grid = someGrid(random);
    const bit = random.pick([
      'a',
      'a b ',
      ' ',
      '\t',
      '3 ',
      '-',
      'A',
      '٣',
      'x\n',
      '""',
      grid.delimiter,
      '9',
      '…',
      '<b>',
    ]);
    const [before, after] = random.pick([
      ['', ''],
      ['8', 'mm'],
      ['x', 'y'],
    ]) as [string, string];
    const big = before + bit.repeat(Math.ceil(CELL_BYTES / bit.length)) + after;
    if (random.uniform() < 0.15) grid.header[random.integer(0, grid.header.length - 1)] = big;
    else random.pick(grid.rows)[random.integer(0, grid.header.length - 1)] = big;
    return random.uniform() < 0.7
      ? textOf(grid)
      : [grid.header, ...grid.rows].map((row) => row.join(grid.delimiter)).join('\n');
  },
  '5,000 columns': (random) => {
    const grid = someGrid(random);
    const names = random.pick<(i: number) => string>([
      (i) => `extra ${i}`,
      (i) => `LF toe ${i} mm`,
      () => '',
      (i) => `toe before${' '.repeat(i)}`,
      (i) => `2024-01-${i}`,
    ]);
    const extra = Array.from({ length: MANY_COLUMNS }, (_, i) => names(i));
    const cells = extra.map((_, i) => String(i));
    const front = random.uniform() < 0.3;
    grid.header = front ? [...extra, ...grid.header] : [...grid.header, ...extra];
    grid.rows = grid.rows.slice(0, 12).map((row) => (front ? [...cells, ...row] : [...row, ...cells]));
    return textOf(grid);
  },
  'headers doubled, empty or odd': (random) => {
    const grid = someGrid(random);
    for (let k = random.integer(1, 4); k > 0; k--) {
      const at = random.integer(0, grid.header.length - 1);
      grid.header[at] = random.pick([
        '',
        ' ',
        random.pick(grid.header),
        ...CODE,
        ...NAMES,
        '1',
        '2024-01-01',
        'toe',
        'foot',
        'date',
        'horse',
      ]);
    }
    if (random.uniform() < 0.1) grid.header = grid.header.map(() => '');
    return textOf(grid);
  },
  'days that are none': (random) =>
    textOf(changeCells(someGrid(random), random, () => random.pick(NO_DATES), isDate)),
  'dates in three orders': (random) => {
    const ways = random.shuffle(DATE_WAYS).slice(0, random.integer(1, 3));
    const top = random.pick([12, 28, 31]);
    const grid = someGrid(random);
    const at = grid.header.findIndex(isDate);
    if (at !== -1)
      for (const row of grid.rows)
        row[at] = random.pick(ways)(
          random.integer(1, top),
          random.integer(1, 12),
          random.integer(2015, 2026),
        );
    return textOf(grid);
  },
  'units against the header': (random) => {
    const grid = someGrid(random);
    const unit = random.pick(['(cm)', '(in)', '(mm)', '', '(ft)', '"', '_cm']);
    grid.header = grid.header.map((name) =>
      isLength(name) ? name.replace(/_mm$| \(cm\)$/, ` ${unit}`) : name,
    );
    return textOf(
      changeCells(
        grid,
        random,
        () => random.pick(LENGTH_WAYS)(numberFor(random)),
        (name) => /toe|heel|depth|height/i.test(name),
      ),
    );
  },
  'numbers of three locales': (random) =>
    textOf(
      changeCells(someGrid(random), random, () => random.pick(NUMBER_WAYS)(numberFor(random)), isNumber),
    ),
  'formulas in cells': (random) => textOf(changeCells(someGrid(random), random, () => random.pick(FORMULAS))),
  'HTML and SQL in every text field': (random) => {
    const grid = someGrid(random);
    const at = grid.header.flatMap((name, i) => (isText(name) ? [i] : []));
    for (const row of grid.rows) for (const i of at) row[i] = random.pick(CODE);
    return textOf(grid);
  },
  'names right to left, combining, invisible': (random) => {
    const grid = someGrid(random);
    const at = grid.header.flatMap((name, i) => (isText(name) ? [i] : []));
    for (const row of grid.rows) for (const i of at) row[i] = random.pick(NAMES);
    return textOf(grid);
  },
  'separators and line ends mixed': (random) => {
    const grid = someGrid(random);
    const lines = textOf(grid).split('\n');
    const ends = random.shuffle(['\n', '\r', '\r\n', '\n\r', '\u2028', '\n\n', '\f\n']).slice(0, 3);
    const other = random.pick([',', ';', '\t', '|', ':', '  ']);
    return (
      random.pick(['', '', 'sep=;\n', 'sep=\n', 'sep=,,\n', '\n\n\n', '"sep=;"\n']) +
      lines
        .map(
          (line) =>
            (random.uniform() < 0.2 ? line.split(grid.delimiter).join(other) : line) + random.pick(ends),
        )
        .join('')
    );
  },
  'titles, totals, repeats of the header, no header': (random) => {
    const grid = someGrid(random);
    const lines = textOf(grid).trimEnd().split('\n');
    if (random.uniform() < 0.3) lines.shift();
    for (let k = random.integer(1, 5); k > 0; k--) {
      const line = random.pick([
        'Visits of the year',
        'Exported on;2024-01-01',
        `Total${grid.delimiter}${grid.rows.length}`,
        lines[0] as string,
        '',
        grid.delimiter.repeat(random.integer(0, 60)),
        `Page 1 of 2${grid.delimiter}`,
        '-----',
        '# a comment',
        'horse',
        `horse${grid.delimiter}date`,
      ]);
      lines.splice(random.pick([0, lines.length, random.integer(0, lines.length)]), 0, line);
    }
    return lines.join('\n');
  },
  'rows doubled, shuffled, in conflict': (random) => {
    const grid = someGrid(random);
    grid.rows = random.shuffle([...grid.rows, ...grid.rows, ...grid.rows.map((row) => [...row])]);
    return textOf(changeCells(grid, random, () => random.pick(['', '0', '85', 'soft'])));
  },
  'any cells under the headers of the record': (random) => {
    const grid = someGrid(random);
    grid.rows = anyOf(
      fc.array(fc.array(ANY_CELL, { minLength: grid.header.length, maxLength: grid.header.length }), {
        minLength: 1,
        maxLength: 15,
      }),
      random,
    );
    return textOf(grid);
  },
  'any text': (random) => anyOf(fc.string({ unit: 'binary', maxLength: 2000 }), random),
  'a text cut anywhere': (random) => {
    const text = textOf(someGrid(random), random.pick(['\n', '\r\n']));
    const from = random.uniform() < 0.3 ? random.integer(0, text.length) : 0;
    return text.slice(from, random.integer(from, text.length));
  },
};

const ANY_CELL = fc.oneof(
  fc.string({ unit: 'grapheme', maxLength: 12 }),
  fc.string({ unit: 'binary', maxLength: 8 }),
  fc.double().map(String),
  fc.integer().map(String),
  fc.constantFrom(
    ...NO_DATES,
    ...FORMULAS,
    ...CODE,
    ...NAMES.slice(0, 20),
    'LF',
    'RF',
    'H1',
    '2024-05-01',
    '85',
    '',
    '2',
  ),
);

function anyOf<T>(arbitrary: fc.Arbitrary<T>, random: Random): T {
  return fc.sample(arbitrary, { numRuns: 1, seed: random.integer(0, 2 ** 31 - 1) })[0] as T;
}

function inserted(text: string, what: string, random: Random): string {
  const at = random.integer(0, text.length);
  return text.slice(0, at) + what + text.slice(at);
}

export type { Grid };
