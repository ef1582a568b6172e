import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  formatInches,
  isFraction,
  parseLength,
  statedUnit,
} from '../../../src/intake/values/length-value.ts';
import { isFault } from '../../../src/intake/values/parsed.ts';

describe('parseLength', () => {
  // Worked by hand: 1 in = 25.4 mm, so 3 3/8 in = 85.725 mm and 3/8 in = 9.525 mm.
  it.each([
    ['3/8', 9.525],
    ['3 3/8', 85.725],
    ['3-3/8"', 85.725],
    ['3 - 3/8 in', 85.725],
    ['3⅜', 85.725],
    ['3½"', 88.9],
    ['⅜', 9.525],
    ['3.375 in', 85.725],
    ["3.5''", 88.9],
    ['85mm', 85],
    ['85,3 mm', 85.3],
    ['8.5 cm', 85],
    ['8.53cm', 85.3],
    ['85.3', 85.3],
    ['85,3', 85.3],
    ['.5', 0.5],
    ['-31', -31],
  ])('%s is %d mm in a column of mm', (text, mm) => {
    expect(parseLength(text, 'mm')).toBeCloseTo(mm, 9);
  });

  it('reads a bare number in the unit of its column', () => {
    expect(parseLength('8,5', 'cm', 'comma')).toBe(85);
    expect(parseLength('3.375', 'in')).toBe(85.725);
  });

  it.each(['long', '3/7', '3 9/8', '3/8 cm', '1.2.3', '85 ft', '3/', '1e3', '', '8-Mar', '85 mm ca.'])(
    '%j is not a length',
    (text) => {
      expect(isFault(parseLength(text, 'mm'))).toBe(true);
    },
  );

  it('parse(format(x)) is x for every sixteenth of an inch', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 160 }), (sixteenths) => {
        const mm = (sixteenths * 25.4) / 16;
        for (const text of [formatInches(mm), formatInches(mm).replace(' ', '-'), `${formatInches(mm)} in`]) {
          expect(parseLength(text, 'in')).toBeCloseTo(mm, 6);
        }
      }),
    );
  });

  it('reads what it wrote in any unit and with either decimal mark', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 18_000 }),
        fc.constantFrom('mm', 'cm', 'in'),
        (hundredths, unit) => {
          const text = (hundredths / 100).toFixed(2);
          const point = parseLength(text, unit, 'point');
          expect(parseLength(text.replace('.', ','), unit, 'comma')).toBe(point);
          expect(parseLength(`${text} ${unit}`, 'mm')).toBe(point);
        },
      ),
    );
  });

  it('tells which unit a cell states', () => {
    expect([statedUnit('8.5 cm'), statedUnit('3⅜'), statedUnit('3"'), statedUnit('85')]).toEqual([
      'cm',
      'in',
      'in',
      null,
    ]);
    expect(isFraction('85')).toBe(false);
  });
});
