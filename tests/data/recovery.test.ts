import { describe, expect, test } from 'vitest';
import { TRUTH } from '../../data/truth.ts';
import { YARDS } from '../../data/yards.ts';
import { dayFromIso } from '../../src/core/civil-day.ts';
import { type Cells, readTruth, soundRecords } from './read-demo.ts';

interface Cycle {
  readonly from: Cells;
  readonly to: Cells;
  readonly days: number;
  readonly middle: number;
}

/** Each foot's visit and the one after it. */
function cyclesOf(rows: readonly Cells[]): Cycle[] {
  const last = new Map<string, Cells>();
  const cycles: Cycle[] = [];
  for (const to of rows) {
    const key = `${to.horse_id} ${to.foot}`;
    const from = last.get(key);
    last.set(key, to);
    if (!from) continue;
    const [start, end] = [dayFromIso(from.visit_date!)!, dayFromIso(to.visit_date!)!];
    cycles.push({ from, to, days: end - start, middle: (start + end) / 2 });
  }
  return cycles;
}

const rows = soundRecords();
const cycles = cyclesOf(rows);
const routine = cycles.filter(({ days }) => days >= 7 && days <= 120);

const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
const known = (...texts: (string | undefined)[]) => texts.every((text) => text !== undefined && text !== '');
/** Regrowth over days: the ratio of sums weights cycles by their length. */
function netPer30d(some: readonly Cycle[]): number {
  const measured = some.filter(({ from, to }) => known(from.toe_after_mm, to.toe_before_mm));
  const mm = measured.map(({ from, to }) => Number(to.toe_before_mm) - Number(from.toe_after_mm));
  return (30 * mean(mm)) / mean(measured.map(({ days }) => days));
}

describe('growth', () => {
  test('net regrowth is 7 to 9.5 mm per 30 days and falls from soft to rocky ground', () => {
    const rates = ['soft', 'mixed', 'firm', 'rocky'].map((terrain) =>
      netPer30d(routine.filter(({ to }) => to.terrain === terrain)),
    );
    expect(rates).toEqual([...rates].sort((a, b) => b - a));
    expect(netPer30d(routine)).toBeGreaterThan(7);
    expect(netPer30d(routine)).toBeLessThan(9.5);
  });

  test('within horses, firm ground takes about as much more than mixed as the truth says', () => {
    // Each horse against itself: horse and foot effects drop out. Season does not, so both halves of the year count alike.
    const differences: number[] = [];
    for (const { horseId } of readTruth().horses) {
      const own = routine.filter(({ to }) => to.horse_id === horseId);
      const [mixed, firm] = ['mixed', 'firm'].map((t) => own.filter(({ to }) => to.terrain === t));
      if (mixed!.length >= 20 && firm!.length >= 20) differences.push(netPer30d(firm!) - netPer30d(mixed!));
    }
    expect(differences.length).toBeGreaterThan(10);
    // Firm is a summer ground where both occur: the season's wave adds at most its amplitude.
    const { firm, mixed } = TRUTH.growth.wearMmPer30d;
    expect(Math.abs(mean(differences) - (mixed - firm))).toBeLessThan(TRUTH.growth.seasonAmplitudeMmPer30d);
  });

  test('it is fastest near the end of September and slowest half a year away', () => {
    const phase = (day: number) => (day % 365.25) / 365.25;
    const near = (peak: number) =>
      routine.filter(({ middle }) => {
        const away = Math.abs(phase(middle) - peak);
        return Math.min(away, 1 - away) < 0.1;
      });
    const peak = TRUTH.growth.seasonPeakDay / 365.25;
    const difference = netPer30d(near(peak)) - netPer30d(near((peak + 0.5) % 1));
    // Twice the amplitude, a little less for averaging over windows, wear of the season's grounds on top.
    expect(difference).toBeGreaterThan(1.2);
    expect(difference).toBeLessThan(2.6);
  });

  test('marks move down with the gross growth, faster than the toe lengthens', () => {
    const marked = routine.filter(
      ({ from, to }) =>
        known(from.marker_id, from.marker_mm, to.marker_mm) && from.marker_id === to.marker_id,
    );
    expect(marked.length).toBeGreaterThan(100);
    const mm = marked.map(({ from, to }) => Number(to.marker_mm) - Number(from.marker_mm));
    const gross = (30 * mean(mm)) / mean(marked.map(({ days }) => days));
    expect(gross).toBeGreaterThan(netPer30d(marked) + 0.3);
  });
});

describe('booking', () => {
  test('late yards are the wet ones', () => {
    const intervals = YARDS.map((yard) =>
      mean(routine.filter(({ to }) => to.client_id === yard.clientId).map(({ days }) => days)),
    );
    const wet = YARDS.map((yard) =>
      mean(
        rows
          .filter((row) => row.client_id === yard.clientId && row.moisture !== '')
          .map((row) => (row.moisture === 'wet' ? 1 : 0)),
      ),
    );
    const [mi, mw] = [mean(intervals), mean(wet)];
    const covariance = mean(intervals.map((v, i) => (v - mi) * (wet[i]! - mw)));
    const spread = (values: number[], m: number) => Math.sqrt(mean(values.map((v) => (v - m) ** 2)));
    const correlation = covariance / (spread(intervals, mi) * spread(wet, mw));
    expect(correlation).toBeGreaterThan(0.4);
    expect(correlation).toBeLessThan(0.95);
  });

  test('routine cycles lie between three weeks and four months, mostly four to ten weeks', () => {
    const share = cycles.filter(({ days }) => days >= 28 && days <= 70).length / cycles.length;
    expect(share).toBeGreaterThan(0.8);
  });

  test('cycles under 7 and over 365 days are those that truth.json lists, on all four feet', () => {
    const odd = cycles
      .filter(({ days, to }) => (days < 7 || days > 365) && to.foot === 'LF')
      .map(({ from, to }) => `${to.horse_id} ${from.visit_date} ${to.visit_date}`);
    const listed = readTruth().cyclesToFlag.map(({ horseId, from, to }) => `${horseId} ${from} ${to}`);
    expect(odd.sort()).toEqual(listed.sort());
    expect(new Set(readTruth().cyclesToFlag.map(({ days }) => days < 7)).size).toBe(2);
  });
});

describe('problems', () => {
  const shareFound = (column: string, some: readonly Cycle[]) => {
    const clear = some.filter(({ from, to }) => from[column] === '0' && known(to[column]));
    return clear.filter(({ to }) => to[column] !== '0').length / clear.length;
  };

  test('a new separation is found more often after a longer wait, more than in proportion', () => {
    const short = routine.filter(({ days }) => days < 42);
    const long = routine.filter(({ days }) => days >= 56);
    const ratio = shareFound('separation_grade', long) / shareFound('separation_grade', short);
    const waits = mean(long.map(({ days }) => days)) / mean(short.map(({ days }) => days));
    expect(ratio).toBeGreaterThan(waits);
  });

  test('frog infection begins more often in wet cycles than in dry ones', () => {
    const [wet, dry] = ['wet', 'dry'].map((m) => routine.filter(({ to }) => to.moisture === m));
    expect(shareFound('fungal_frog_grade', wet!)).toBeGreaterThan(2 * shareFound('fungal_frog_grade', dry!));
  });

  test('infection of the wall begins more often where a crack was there before', () => {
    const cracked = routine.filter(({ from }) => known(from.crack_grade) && from.crack_grade !== '0');
    const whole = routine.filter(({ from }) => from.crack_grade === '0');
    expect(shareFound('fungal_wall_grade', cracked)).toBeGreaterThan(
      1.4 * shareFound('fungal_wall_grade', whole),
    );
  });

  test('visits see fewer onsets than there were', () => {
    for (const [name, { onsets, onsetsSeenAtVisits }] of Object.entries(readTruth().problems)) {
      expect(onsetsSeenAtVisits, name).toBeLessThan(onsets);
    }
  });
});

describe('wall broken away', () => {
  const broken = (some: readonly Cycle[]) => {
    const seen = some.filter(({ to }) => known(to.wall_broken));
    return { n: seen.length, share: mean(seen.map(({ to }) => Number(to.wall_broken === 'true'))) };
  };

  test('is seen as often as its chances say, by what the trim left', () => {
    const { wallBroken } = readTruth();
    const none = broken(cycles.filter(({ from }) => from.separation_site === ''));
    const sound = wallBroken.filter(({ place }) => place === 'sound')[0]!;
    expect(Math.abs(none.share - sound.meanChance)).toBeLessThan(
      4 * Math.sqrt((sound.meanChance * (1 - sound.meanChance)) / none.n),
    );
    for (const { place, relief, cycles: n, meanChance, shareBroken } of wallBroken) {
      const sd = Math.sqrt((meanChance * (1 - meanChance)) / n);
      expect(Math.abs(shareBroken - meanChance), `${place}, ${relief}`).toBeLessThan(3.5 * sd);
    }
  });

  test('is rarer where separated wall was relieved than where it was only bevelled', () => {
    const [relieved, bevelled] = ['relieved', 'bevel_only'].map((relief) =>
      broken(cycles.filter(({ from }) => from.separation_site !== '' && from.relief === relief)),
    );
    expect(relieved!.share).toBeLessThan(0.7 * bevelled!.share);
  });

  test('is blank at a first visit, and otherwise about as often as the truth says', () => {
    const first = new Set(cycles.map(({ to }) => to));
    const filled = rows.filter((row) => !first.has(row) && known(row.wall_broken));
    // A foot whose first row was spoilt seems to begin with its second.
    expect(filled.length).toBeLessThanOrEqual(2);
    const share = TRUTH.wallBreaking.notLookedFor;
    const blank = cycles.filter(({ to }) => !known(to.wall_broken)).length / cycles.length;
    expect(Math.abs(blank - share)).toBeLessThan(4 * Math.sqrt((share * (1 - share)) / cycles.length));
  });
});

describe('missing cells', () => {
  test.each(Object.entries(TRUTH.missing).filter(([name]) => !/^(marker|separation_(to|height))/.test(name)))(
    '%s is blank about as often as the truth says (%d)',
    (name, share) => {
      const blank = rows.filter((row) => row[name] === '').length / rows.length;
      const sd = Math.sqrt((share * (1 - share)) / rows.length);
      expect(Math.abs(blank - share)).toBeLessThan(4 * sd);
    },
  );
});
