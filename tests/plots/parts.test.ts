import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mixColours } from '../../src/plots/chart-key.ts';
import { contrast } from '../../src/plots/contrast.ts';
import { spread } from '../../src/plots/end-labels.ts';
import { inksOf, seriesLook } from '../../src/plots/palette.ts';

describe('spread', () => {
  it('keeps labels apart, inside and in their order', () => {
    const heights = fc.array(fc.double({ min: 0, max: 300, noNaN: true }), { minLength: 1, maxLength: 7 });
    fc.assert(
      fc.property(heights, (wanted) => {
        const placed = spread(wanted, 0, 300, 15);
        const sorted = [...placed].sort((a, b) => a - b);
        for (let at = 1; at < sorted.length; at += 1)
          expect(sorted[at]! - sorted[at - 1]!).toBeGreaterThan(15 - 1e-9);
        expect(sorted[0]).toBeGreaterThanOrEqual(0);
        expect(sorted.at(-1)).toBeLessThanOrEqual(300);
        for (const [a, one] of wanted.entries()) {
          for (const [b, other] of wanted.entries())
            if (one < other) expect(placed[a]).toBeLessThan(placed[b]!);
        }
      }),
    );
  });

  it('leaves labels that do not touch where they are', () => {
    expect(spread([100, 20, 60], 0, 300, 15)).toEqual([100, 20, 60]);
  });
});

describe('contrast', () => {
  // Black on white is 21 by the definition; grey of 767676 on white is the least that passes 4.5 (from memory).
  it('is that of WCAG, either way round and however written', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 10);
    expect(contrast('#ffffff', '#767676')).toBeCloseTo(4.54, 2);
    expect(contrast('rgb(118, 118, 118)', '#ffffff')).toBe(contrast('#ffffff', '#767676'));
    expect(() => contrast('red', '#ffffff')).toThrow('colour must be written as');
  });

  it('is enough between each grade written on a bar and the bar', () => {
    for (const theme of ['light', 'dark'] as const) {
      const { line, main, ink, paper } = inksOf(theme);
      for (const grade of [0, 1, 2, 3]) {
        const bar = mixColours(line, main, grade / 3);
        const best = Math.max(contrast(ink, bar), contrast(paper, bar));
        expect(best, `${theme}, grade ${grade}`).toBeGreaterThan(4.2);
      }
    }
  });
});

describe('palette', () => {
  it('never gives two series the same colour, shape and dash', () => {
    const looks = Array.from({ length: 24 }, (_, at) => JSON.stringify(seriesLook(inksOf('light'), at)));
    expect(new Set(looks).size).toBe(24);
  });

  it('keeps the published colours that stand out from the page, and no series is paler than a graphic may be', () => {
    // Okabe and Ito 2008. WCAG 2.2, 1.4.11: 3:1 for graphics.
    const published = ['#0072B2', '#D55E00', '#009E73', '#CC79A7', '#E69F00', '#56B4E9', '#F0E442'];
    // --paper of src/app/theme.css.
    for (const [theme, page] of [
      ['light', '#faf8f4'],
      ['dark', '#191b1e'],
    ] as const) {
      const colours = inksOf(theme).series.map(({ colour }) => colour);
      const least = (colour: string) =>
        Math.min(contrast(colour, page), contrast(colour, inksOf(theme).paper));
      for (const colour of published) if (least(colour) >= 3) expect(colours).toContain(colour);
      for (const colour of colours) expect(contrast(colour, page), `${theme} ${colour}`).toBeGreaterThan(3);
    }
  });

  it('mixes colours in a straight line', () => {
    expect(mixColours('#000000', '#ff8000', 0.5)).toBe('#804000');
  });
});
