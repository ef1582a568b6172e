import { describe, expect, it } from 'vitest';
import { columnOf } from '../../../src/herd/dictionary.ts';
import { cellParser } from '../../../src/intake/cell-parser.ts';
import { parseAngle } from '../../../src/intake/values/angle-value.ts';
import { parseBoolean } from '../../../src/intake/values/boolean-value.ts';
import { parseGrade } from '../../../src/intake/values/grade-value.ts';
import { levelParser } from '../../../src/intake/values/level-value.ts';
import { parseMass } from '../../../src/intake/values/mass-value.ts';
import { parseNumber } from '../../../src/intake/values/number-value.ts';
import { isFault } from '../../../src/intake/values/parsed.ts';
import { parseYear } from '../../../src/intake/values/year-value.ts';
import { TODAY } from '../admit.ts';

describe('parseNumber', () => {
  it('takes the other mark for thousands only before exactly three digits', () => {
    expect(parseNumber('1,200', 'point')).toBe(1200);
    expect(parseNumber('1.200', 'comma')).toBe(1200);
    expect(parseNumber('1,2', 'point')).toBe(1.2);
    expect(parseNumber('85.125', 'point')).toBe(85.125);
    expect(parseNumber('0,125', 'point')).toBe(0.125);
  });
  it.each(['', '.', '-', '1.2.3', '1 200', 'NaN', '0x10', '1e5', '5O'])('%j is not a number', (text) => {
    expect(isFault(parseNumber(text, 'point'))).toBe(true);
  });
});

describe('parseGrade', () => {
  it('reads a grade that says so, and one out of three', () => {
    const said = ['grade 2', 'Gr. 1', 'g0', 'score: 3', '2/3', '1 of 3'].map(parseGrade);
    expect(said.map((one) => (isFault(one) ? 'fault' : one))).toEqual([2, 1, 'fault', 3, 2, 1]);
    for (const text of ['2/5', 'grade', 'grade x', 'green'])
      expect(isFault(parseGrade(text)), text).toBe(true);
  });

  it.each([
    ['0', 0],
    ['2.0', 2],
    ['+', 1],
    ['++', 2],
    ['+++', 3],
    ['None', 0],
    ['slight', 1],
    ['Moderate', 2],
    ['SEVERE', 3],
  ])('%s is %d', (text, grade) => {
    expect(parseGrade(text)).toBe(grade);
  });
  it.each(['1.5', 'yes', '++++', '1-2'])('%j is not a grade', (text) => {
    expect(isFault(parseGrade(text))).toBe(true);
  });
});

describe('parseBoolean, parseAngle, parseMass, parseYear', () => {
  it('read everyday writing', () => {
    expect(['yes', 'Ja', '1', 'x', 'TRUE'].map(parseBoolean)).toEqual([true, true, true, true, true]);
    expect(['no', 'Nein', '0', 'false'].map(parseBoolean)).toEqual([false, false, false, false]);
    expect(['52', '52,5°', '52.5 deg'].map((t) => parseAngle(t))).toEqual([52, 52.5, 52.5]);
    expect(parseMass('1,150 lb', 'kg')).toBeCloseTo(521.631, 3); // 1150 × 0.45359237
    expect(parseMass('520', 'kg')).toBe(520);
    expect(['2014', '2014-05-01', '1/5/2014'].map(parseYear)).toEqual([2014, 2014, 2014]);
  });
  it('refuse the rest', () => {
    for (const bad of [parseBoolean('maybe'), parseAngle('5O'), parseMass('heavy', 'kg'), parseYear('14')]) {
      expect(isFault(bad)).toBe(true);
    }
  });
});

describe('levels', () => {
  const read = (column: string, text: string): unknown => levelParser(columnOf(column))(text);
  it.each([
    ['foot', 'Near Fore', 'LF'],
    ['foot', 'off-hind', 'RH'],
    ['foot', 'FL', 'LF'],
    ['foot', 'hind left', 'LH'],
    ['foot', 'OF', 'RF'],
    ['terrain', 'Stony', 'rocky'],
    ['moisture', 'WET', 'wet'],
    ['relief', 'bevel only', 'bevel_only'],
    ['protection', 'Barefoot', 'bare'],
    ['separation_site', 'white line', 'white_line'],
    ['crack_origin', 'coronary band', 'coronet'],
  ])('%s: %s is %s', (column, text, level) => {
    expect(read(column, text)).toBe(level);
  });
  it('refuse unknown words', () => {
    expect(read('foot', 'XF')).toEqual({ fault: 'not one of the words for foot' });
  });
});

describe('cellParser', () => {
  const base = { dateOrder: 'iso', decimal: 'point', today: TODAY } as const;
  it('takes signs of nothing for nothing, and a minus for grade 0 only among plus signs', () => {
    const grade = columnOf('crack_grade');
    expect(cellParser(grade, base)('-')).toBeNull();
    expect(cellParser(grade, { ...base, plusSigns: true })('-')).toBe(0);
    expect(cellParser(columnOf('toe_before_mm'), base)('n/a')).toBeNull();
    expect(cellParser(columnOf('horse_id'), base)('  ')).toBeNull();
    expect(cellParser(columnOf('horse_id'), base)(' Nd ')).toBe('Nd');
  });
  it('sets limits: grades, lengths, days', () => {
    expect(cellParser(columnOf('crack_grade'), base)('9')).toEqual({ fault: 'no such grade: 9' });
    expect(cellParser(columnOf('toe_before_mm'), { ...base, unit: 'cm' })('85')).toEqual({
      fault: 'outside 30 to 180 mm: 850 mm',
    });
    const day = cellParser(columnOf('visit_date'), base);
    expect(day('2203-05-14')).toEqual({ fault: 'in the future: 2203-05-14' });
    expect(day('1979-12-31')).toEqual({ fault: 'before 1980: 1979-12-31' });
    expect(day('2026-11-25')).toBe(TODAY);
  });
});
