import { describe, expect, it } from 'vitest';
import { calibrationOf } from '../../src/analyses/grow-out/calibration.ts';
import type { PastProjections } from '../../src/analyses/grow-out/past.ts';
import { hasPassed, isOver, type Projection } from '../../src/analyses/grow-out/project.ts';
import { dayFromIso } from '../../src/core/civil-day.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { studentQuantile } from '../../src/stats/distributions.ts';
import { seededRandom } from '../../src/stats/random.ts';
import {
  dayAfter,
  estimateOf,
  expectSound,
  openHerd,
  type Row,
  rowsWith,
  runAnalysis,
  tableOf,
} from './run-analysis.ts';

/** A foot trimmed to `toe` mm every `every` days, each regrowth as given; `last` is added to its last visit. */
function foot(
  key: string,
  regrowths: readonly number[],
  last: Row = {},
  { toe = 80, every = 30, each = {} }: { toe?: number; every?: number; each?: Row } = {},
): Row[] {
  const [horse_id, which] = key.split(' ') as [string, string];
  return [null, ...regrowths].map((grown, i) => ({
    horse_id,
    foot: which,
    visit_date: dayAfter(every * i),
    toe_before_mm: toe + (grown ?? 10),
    toe_after_mm: toe,
    separation_grade: 0,
    crack_grade: 0,
    ...each,
    ...(i === regrowths.length ? last : {}),
  }));
}

const SEPARATED = { separation_grade: 2, separation_height_mm: 9 };
const day = (days: number): number => dayFromIso(dayAfter(days))!;

describe('grow-out by hand', () => {
  it('is height over net growth where no marks tell wear, its ends where the band reaches the height', async () => {
    const engine = await openHerd(foot('A LF', [8, 9, 10], SEPARATED));
    const result = await runAnalysis(engine, 'grow-out');
    // Rate 9 ± √(1/3), spread of one change 1, of one reading √.5; t(2) = 4.302653. Ends: (9 − 9z)² = t²(z²/3 + .5).
    const q = studentQuantile(0.975, 2) ** 2;
    const [a, b, c] = [81 - q / 3, -162, 81 - q / 2];
    const roots = [-1, 1].map((sign) => (30 * (-b + sign * Math.sqrt(b * b - 4 * a * c))) / (2 * a));
    const [row] = rowsWith(result, 'projections', {});
    expect(row).toMatchObject({
      horse_id: 'A',
      foot: 'left fore',
      problem: 'separation',
      seen_on: day(90),
      distance_mm: 9,
      basis: 'net growth alone',
      n_cycles: 3,
      n_visits: 4,
      has_passed: false,
    });
    expect(row!.estimate).toBeCloseTo(30, 2);
    expect(row!.conf_low).toBeCloseTo(roots[0]!, 2);
    expect(row!.conf_high).toBeCloseTo(roots[1]!, 2);
    // 18.6 and 46.3 days after 30 May 2024.
    expect([row!.date_from, row!.date_estimate, row!.date_to]).toEqual([day(108), day(120), day(137)]);
    expect(result.findings[0]!.sentence).toBe(
      'On 1 horse growth should bring down, if nothing new opens above: 1 foot with a separation. Next is the separation of A LF: between 17 June 2024 and 16 July 2024 (95\u00a0% range). The foot in front of you decides, not the date.',
    );
    expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
      'No marks tell how much wears off on the ground of 1 foot: its date goes by net growth alone, which is the slow side.',
    );
    await expectSound(engine, result);
  });

  it('adds what the ground wears off where marks tell it', async () => {
    // Net 8, 9, 10 on both; marks move 1.8 further on A and 2.2 on B: gross growth 11 on average.
    const marked = (key: string, worn: number): Row[] => {
      const rows = foot(
        key,
        [8, 9, 10],
        { ...SEPARATED, separation_height_mm: 11 },
        { each: { terrain: 'firm' } },
      );
      let mm = 2;
      return rows.map((row, i) => {
        if (i > 0) mm += [8, 9, 10][i - 1]! + worn;
        return { ...row, marker_id: 'm', marker_mm: mm };
      });
    };
    const engine = await openHerd([...marked('A LF', 1.8), ...marked('B LF', 2.2)]);
    const result = await runAnalysis(engine, 'grow-out', { problem: 'separation' });
    for (const row of rowsWith(result, 'projections', {})) {
      expect(row.basis).toBe('growth and wear');
      expect(row.estimate).toBeCloseTo(30, 1);
      // Wear 2 ± .2 on one degree of freedom widens it beyond net growth's own range of the same length.
      expect(row.conf_low as number).toBeLessThan(27);
      expect(row.conf_high as number).toBeGreaterThan(33);
    }
    await expectSound(engine, result);
  });

  it('lets an injury at the coronet come down the whole toe: 83.7 mm at 7 mm in 28 days take 11 months', async () => {
    // Josseck et al. 1995, Equine Vet J 27:175–182: 7 mm in 28 days, the wall renewed in 11 months.
    const engine = await openHerd(
      foot('A LF', [6.9, 7, 7.1], { coronet_injury: true }, { toe: 83.7, every: 28 }),
    );
    const result = await runAnalysis(engine, 'grow-out', { problem: 'coronet_injury' });
    const [row] = rowsWith(result, 'projections', {});
    expect(row).toMatchObject({ problem: 'injury of the coronet', distance_mm: 83.7 });
    expect(row!.estimate).toBeCloseTo(334.8, 1);
    expect((row!.estimate as number) / 30.4375).toBeCloseTo(11, 1);
    expect(row!.conf_high! as number).toBeGreaterThan(row!.estimate as number);
  });

  it('takes an injury as grown out only after the last day that it shows', () => {
    const seen = { problem: 'coronet_injury', seenOn: 100 } as Projection['standing'];
    const injury = { standing: seen, days: { estimate: 8, low: 6.2, high: 10.4 } } as Projection;
    // The range is shown to end on day 111.
    expect([110, 111, 112].map((day) => isOver(injury, day))).toEqual([false, false, true]);
    expect(isOver({ ...injury, standing: { ...seen, problem: 'coronet_crack' } }, 112)).toBe(false);
    expect(hasPassed({ ...injury, days: { ...injury.days, high: null } }, 900)).toBe(false);
  });

  it('keeps an injury from an earlier visit in sight until its whole range has passed', async () => {
    const rows = foot(
      'A LF',
      Array.from({ length: 18 }, (_, i) => 8 + (i % 3)),
    );
    const injured = (at: number): Row[] => rows.map((row, i) => ({ ...row, coronet_injury: i === at }));
    // 80 mm at about 9 mm in 30 days: nine months, so the one of visit 4, fourteen months ago, is over.
    const recent = await runAnalysis(await openHerd(injured(12)), 'grow-out', { look: 'ahead' });
    expect(rowsWith(recent, 'projections', {})).toMatchObject([{ seen_on: day(360), distance_mm: 80 }]);
    const past = await runAnalysis(await openHerd(injured(4)), 'grow-out', { look: 'ahead' });
    expect(rowsWith(past, 'projections', {})).toEqual([]);
  });

  it('takes a crack from the coronet down the whole toe, and says that one from the ground cannot be projected', async () => {
    const crack = (crack_origin: string | null): Row => ({ crack_grade: 1, crack_origin });
    const engine = await openHerd([
      ...foot('A LF', [8, 9, 10], crack('coronet')),
      ...foot('B LF', [8, 9, 10], crack('ground')),
      ...foot('C LF', [8, 9, 10], crack(null)),
      ...foot('D LF', [8, 9, 10], { separation_grade: 1 }),
    ]);
    const result = await runAnalysis(engine, 'grow-out');
    expect(rowsWith(result, 'projections', {})).toMatchObject([
      { horse_id: 'A', problem: 'crack from the coronet', distance_mm: 80 },
    ]);
    expect(result.findings.map(({ sentence }) => sentence)).toContain(
      '2 feet of 2 horses have a crack from the ground, or one whose start is not recorded. Without a height it cannot be projected when such a crack should be grown out.',
    );
    expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
      '1 foot cannot be projected: the height of the separation, or the toe’s length, was not recorded.',
    );
    await expectSound(engine, result);
  });

  it('looks at the latest visit at which the problem was told, and at no foot gone from the record', async () => {
    const untold = { separation_grade: null, separation_height_mm: null };
    const rows = foot('A LF', [8, 9, 10]).map((row, i) => ({
      ...row,
      ...(i === 2 ? SEPARATED : {}),
      ...(i === 3 ? untold : {}),
    }));
    const gone = foot('B LF', [8], SEPARATED);
    const later = foot('C LF', [8, 9, 10, 9, 8, 9, 10, 9, 8, 9], {});
    const found = await runAnalysis(await openHerd([...rows, ...gone, ...later]), 'grow-out', {
      look: 'ahead',
      seen_within_days: 260,
    });
    expect(rowsWith(found, 'projections', {})).toMatchObject([{ horse_id: 'A', seen_on: day(60) }]);
  });

  it('says in words what it cannot tell: no row, one visit, no growth', async () => {
    for (const rows of [
      [],
      [{ horse_id: 'A', foot: 'LF', visit_date: dayAfter(0), ...SEPARATED }],
    ] as Row[][]) {
      const engine = await openHerd(rows);
      const result = await runAnalysis(engine, 'grow-out');
      expect(tableOf(result, 'projections').table.rowCount).toBe(0);
      expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
        'No trim cycle here has the toe measured after a trim and again at the next visit, so growth ahead cannot be told.',
      );
      await expectSound(engine, result);
    }
  });
});

describe('how past projections held', () => {
  it('is the share seen clear in each tenth of the chances given', () => {
    const chance = [0.05, 0.75, 0.75, 0.79, 0.71, 1];
    const past: PastProjections = {
      later: Uint8Array.from(chance, () => 1),
      chance: Float64Array.from(chance),
      clear: Uint8Array.of(0, 1, 0, 1, 1, 1),
      horse: Int32Array.of(0, 0, 1, 2, 3, 3),
      foot: Int32Array.of(0, 0, 1, 2, 3, 3),
      footKey: ['A LF', 'A LF', 'B LF', 'C LF', 'D LF', 'D LF'],
      visit: Float64Array.from(chance, (_, i) => 20000 + i),
      problem: chance.map(() => 'separation'),
    };
    const { bands, overall } = calibrationOf(past);
    expect(bands.map(({ low, counts }) => [low, counts.cycles])).toEqual([
      [0, 1],
      [0.7, 4],
      [0.9, 1],
    ]);
    const seventies = bands[1]!;
    expect(seventies.projected).toBeCloseTo(0.75, 12);
    expect(seventies.seen).toMatchObject({ estimate: 0.75, nClusters: 4 });
    expect(isUnavailable(bands[0]!.seen)).toBe(true);
    // Four clear of six; chances sum to 4.05.
    expect(overall[0]!.difference).toMatchObject({ estimate: expect.closeTo((4 - 4.05) / 6, 12) });
    expect(seventies.where).toContain("('B LF', 20002)");
  });

  it('counts a clear visit on the way as clear, and only cycles ended before the year', async () => {
    // Present on day 330 (25 January 2025), clear on 360, present again from 390.
    const grades = (i: number): Row =>
      i === 11 || i > 12 ? { ...SEPARATED, separation_height_mm: 30 } : { separation_grade: 0 };
    const herd = ['A LF', 'B LF'].flatMap((key, k) =>
      foot(
        key,
        Array.from({ length: 15 }, (_, i) => 8 + ((i + k) % 3)),
      ).map((row, i) => ({ ...row, ...grades(i) })),
    );
    const result = await runAnalysis(await openHerd(herd), 'grow-out', { look: 'back' });
    // Days 330 (clear next), 390 and 420 (not) on two feet each; of two visits on, days 330 and 390.
    expect(estimateOf(result, 'seen clear', 'separation, by the next visit')).toMatchObject({
      estimate: expect.closeTo(1 / 3, 12),
      n_cycles: 6,
    });
    expect(estimateOf(result, 'seen clear', 'separation, by the second visit')).toMatchObject({
      estimate: 0.5,
      n_cycles: 4,
    });
  });

  it('agrees with what was seen where separations do grow down', async () => {
    const engine = await openHerd(growingDown(80));
    const result = await runAnalysis(engine, 'grow-out', { problem: 'separation', look: 'back' });
    for (const later of ['next', 'second']) {
      const apart = estimateOf(result, 'seen clear less projected', `separation, by the ${later} visit`);
      expect(apart.n_cycles as number).toBeGreaterThan(250);
      expect(apart.conf_low as number).toBeLessThan(0);
      expect(apart.conf_high as number).toBeGreaterThan(0);
      expect(Math.abs(apart.estimate as number)).toBeLessThan(0.04);
    }
    const [least] = rowsWith(result, 'calibration', { later_visit: 'next visit', band: '0 to 10\u00a0%' });
    const [most] = rowsWith(result, 'calibration', { later_visit: 'next visit', band: '90 to 100\u00a0%' });
    expect(rowsWith(result, 'calibration', { later_visit: 'next visit' }).length).toBeGreaterThan(5);
    expect(least!.conf_high as number).toBeLessThan(0.1);
    expect(most!.conf_low as number).toBeGreaterThan(0.9);
    expect(result.findings[0]!.sentence).toContain('The two agree within what chance can do.');
    await expectSound(engine, result);
  });
});

/** A herd whose separations reach up 6 to 22 mm and come down with the wall; readings err by 0.7 mm. */
function growingDown(horses: number): Row[] {
  const draw = seededRandom(71);
  const half = (mm: number): number => Math.round(2 * mm) / 2;
  return Array.from({ length: horses }, (_, k) => {
    const rate = draw.normal(8, 0.8);
    let [at, height] = [draw.integer(0, 40), 0];
    const rows: Row[] = [];
    for (let before = at; at < 1000; before = at, at += draw.integer(28, 63)) {
      const grown = (rate * (at - before)) / 30;
      if (height > 0) height -= grown;
      else if (draw.uniform() < 0.3) height = 6 + 16 * draw.uniform();
      const present = height > 0;
      rows.push({
        horse_id: `H${100 + k}`,
        foot: 'LF',
        visit_date: dayAfter(at),
        toe_before_mm: half(80 + grown + draw.normal(0, 0.7)),
        toe_after_mm: half(80 + draw.normal(0, 0.7)),
        separation_grade: present ? 2 : 0,
        separation_height_mm: present ? Math.max(0.5, half(height + draw.normal(0, 0.7))) : null,
      });
    }
    return rows;
  }).flat();
}
