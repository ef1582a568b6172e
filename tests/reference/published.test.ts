/** Published rates of hoof growth, each with its own days, in the unit that the program reports: mm per 30 days. */
import { describe, expect, it } from 'vitest';
import { fitNestedSlopes } from '../../src/stats/nested-slopes.ts';
import { value } from '../stats/expect-close.ts';

/** Horses that all grow by `mm` in `days`, read half a millimetre too long as often as too short. */
function rateOf(mm: number, days: number): number {
  const rows = Array.from({ length: 4 * 6 * 2 }, (_, i) => i);
  const fit = fitNestedSlopes({
    days: new Float64Array(rows.length).fill(days),
    y: Float64Array.from(rows, (i) => mm + (i % 2 === 0 ? 0.5 : -0.5)),
    x: new Float64Array(rows.length).fill(1),
    cluster: Int32Array.from(rows, (i) => Math.floor(i / 12)),
    unit: Int32Array.from(rows, (i) => Math.floor(i / 6)),
  });
  return value(fit).beta[0]!;
}

describe('a rate carries its days', () => {
  it.each([
    // Josseck et al. 1995, Equine Vet J 27:175–182: 7 mm per 28 days, in Lipizzaners.
    [7, 28, 7.5],
    // Kolstrung et al. 2012, Med Weter 68:426–429: about 13 mm in 6 weeks, in barefoot mares.
    [13, 42, 9.285714],
    // Reilly et al. 1998, Equine Vet J Suppl 26:51–57: 35.34 and 30.69 mm over 5 months of 30.4375 days.
    [35.34, 5 * 30.4375, 6.966407],
    [30.69, 5 * 30.4375, 6.049774],
  ])('%d mm in %d days is %d mm per 30 days', (mm, days, per30) => {
    expect(rateOf(mm, days)).toBeCloseTo(per30, 6);
  });

  it('the wall of those Lipizzaners is renewed in 11 mean months at that rate: 83.7 mm', () => {
    expect((rateOf(7, 28) / 30) * 11 * 30.4375).toBeCloseTo(83.7, 1);
  });

  it('treated ponies grew 1.1515 times as fast as the others, whatever the days', () => {
    expect(rateOf(35.34, 150) / rateOf(30.69, 150)).toBeCloseTo(1.1515, 4);
  });
});
