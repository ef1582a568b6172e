import { isoFromDay } from '../../src/core/civil-day.ts';
import type { Table } from '../../src/core/table.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { visitTable } from '../herd-fixture.ts';

export type Row = Record<string, string | number | boolean | null>;

const FEET = ['LF', 'RF', 'LH', 'RH'];
export const GRADES = [
  'separation_grade',
  'fungal_frog_grade',
  'fungal_wall_grade',
  'crack_grade',
  'sensitivity',
] as const;
const FIRST_DAY = 18_000;

export interface Shape {
  readonly horses: number;
  readonly visits: number;
  /** Days from visit `i` (from 0) to the next, of horse `h`. */
  readonly gap?: (h: number, i: number) => number;
  readonly feet?: readonly string[];
  /** About the day of the first visit, days since 1970-01-01. */
  readonly firstDay?: number;
  readonly seed?: number;
  /** Changes a row; `h` and `i` as above. */
  readonly change?: (row: Row, h: number, i: number) => Row;
}

/** An ordinary small herd, every column filled, from which each hard case departs in one way. */
export function herdRows({
  horses,
  visits,
  gap,
  feet = FEET,
  firstDay = FIRST_DAY,
  seed = 4_711,
  change = (row) => row,
}: Shape): Row[] {
  const random = seededRandom(seed);
  const made: Row[] = [];
  for (let h = 0; h < horses; h++) {
    const rate = 8 + random.normal(0, 0.8);
    let day = firstDay + random.integer(0, 40);
    let days = 42;
    const state = new Map<string, number>();
    const mark = new Map<string, number>();
    for (let i = 0; i < visits; i++) {
      for (const foot of feet) {
        mark.set(foot, i % 4 === 0 ? 3 : mark.get(foot)! + ((rate + 1.5) * days) / 30);
        const row: Row = {
          horse_id: `H${String(h).padStart(3, '0')}`,
          horse_name: `Horse ${h}`,
          client_id: `Yard ${h % 3}`,
          practitioner_id: `P${h % 2}`,
          breed_type: ['draft', 'pony', 'light'][h % 3]!,
          birth_year: 2005 + (h % 12),
          body_mass_kg: 400 + 10 * h,
          visit_date: isoFromDay(day),
          foot,
          terrain: random.pick(['soft', 'mixed', 'firm']),
          moisture: random.pick(['dry', 'mixed', 'wet']),
          toe_before_mm: round(80 + (rate * days) / 30 + random.normal(0, 0.8)),
          toe_after_mm: round(80 + random.normal(0, 0.8)),
          heel_before_mm: round(34 + (0.7 * rate * days) / 30 + random.normal(0, 0.8)),
          heel_after_mm: round(34 + random.normal(0, 0.8)),
          angle_before_deg: round(50.5 + random.normal(0, 0.7)),
          angle_after_deg: round(50 + random.normal(0, 0.7)),
          new_growth_angle_deg: 53,
          sole_depth_mm: round(12 + random.normal(0, 2)),
          wall_thickness_mm: 10,
          bar_height_mm: 5,
          separation_site: random.pick(['white_line', 'within_wall']),
          separation_to_white_line_mm: random.integer(1, 9),
          separation_height_mm: random.integer(3, 12),
          crack_origin: 'ground',
          coronet_injury: random.uniform() < 0.05,
          marker_mm: round(mark.get(foot)!),
          marker_id: `${foot} ${Math.floor(i / 4)}`,
          bevel_mm: 6,
          relief: random.pick(['none', 'bevel_only', 'relieved']),
          protection: random.pick(['bare', 'boot']),
          antifungal: random.uniform() < 0.2,
        };
        for (const grade of GRADES) {
          const key = `${foot} ${grade}`;
          const before = state.get(key) ?? 0;
          // A problem lasts two or three visits.
          const now =
            random.uniform() < (before > 0 ? 0.35 : 0.12)
              ? Number(before === 0) * random.integer(1, 3)
              : before;
          state.set(key, now);
          row[grade] = now;
        }
        made.push(change(row, h, i));
      }
      days = gap ? gap(h, i) : random.integer(28, 70);
      day += days;
    }
  }
  return made;
}

const round = (mm: number) => Math.round(mm * 2) / 2;
const graded = (row: Row, grade: number): Row => ({
  ...row,
  ...Object.fromEntries(GRADES.map((g) => [g, grade])),
});
const MEASURES = ['toe', 'heel'].flatMap((part) => [`${part}_before_mm`, `${part}_after_mm`]);
const usual = { horses: 15, visits: 9 };

/** Herds that a record may really hold, or be narrowed to, and that leave some or all of the questions open. */
export const HARD_HERDS: Readonly<Record<string, () => Table>> = {
  'an ordinary herd': () => visitTable(herdRows(usual)),
  'one visit to one foot': () => visitTable(herdRows({ horses: 1, visits: 1, feet: ['LF'] })),
  'one visit to one horse': () => visitTable(herdRows({ horses: 1, visits: 1 })),
  'one visit to each horse': () => visitTable(herdRows({ horses: 15, visits: 1 })),
  'two visits to each horse': () => visitTable(herdRows({ horses: 15, visits: 2 })),
  'one horse': () => visitTable(herdRows({ horses: 1, visits: 20 })),
  'two horses': () => visitTable(herdRows({ horses: 2, visits: 12 })),
  'one horse with 10,000 rows': () =>
    visitTable(herdRows({ horses: 1, visits: 2_500, gap: (_, i) => 7 + (i % 3) })),
  'no events': () => visitTable(herdRows({ ...usual, change: (row) => graded(row, 0) })),
  'all events': () => visitTable(herdRows({ ...usual, change: (row) => graded(row, 2) })),
  'one event': () =>
    visitTable(
      herdRows({
        ...usual,
        change: (row, h, i) => graded(row, h === 2 && i === 3 && row.foot === 'LF' ? 1 : 0),
      }),
    ),
  'events at every other visit': () =>
    visitTable(herdRows({ ...usual, change: (row, _, i) => graded(row, i % 2) })),
  'all intervals equal': () => visitTable(herdRows({ ...usual, gap: () => 42 })),
  'a level without events': () =>
    visitTable(
      herdRows({
        ...usual,
        change: (row) => (row.moisture === 'dry' || row.breed_type === 'pony' ? graded(row, 0) : row),
      }),
    ),
  'a level of one horse': () =>
    visitTable(
      herdRows({
        ...usual,
        change: (row, h) => ({
          ...row,
          breed_type: h === 0 ? 'donkey' : 'light',
          moisture: h === 0 ? 'wet' : 'dry',
        }),
      }),
    ),
  'perfect collinearity': () =>
    visitTable(
      herdRows({
        ...usual,
        gap: (h) => 28 + 14 * (h % 3),
        change: (row, h) => ({
          ...row,
          terrain: ['soft', 'mixed', 'firm'][h % 3]!,
          moisture: ['wet', 'mixed', 'dry'][h % 3]!,
        }),
      }),
    ),
  'every visit entered twice': () => {
    const once = herdRows(usual);
    return visitTable([...once, ...once]);
  },
  'two unlike visits on one day': () =>
    visitTable(herdRows({ ...usual, gap: (_, i) => (i % 4 === 3 ? 0 : 42) })),
  'all visits on one day': () => visitTable(herdRows({ ...usual, gap: () => 0 })),
  'no scatter at all': () =>
    visitTable(
      herdRows({
        ...usual,
        gap: () => 60,
        change: (row) => ({
          ...row,
          toe_before_mm: 96,
          toe_after_mm: 80,
          heel_before_mm: 44,
          heel_after_mm: 34,
          angle_before_deg: 51,
          angle_after_deg: 50,
          sole_depth_mm: 12,
        }),
      }),
    ),
  'no growth at all': () =>
    visitTable(
      herdRows({
        ...usual,
        change: (row) => ({ ...row, ...Object.fromEntries(MEASURES.map((m) => [m, 80])) }),
      }),
    ),
  'no difference between horses or feet': () =>
    visitTable(
      herdRows({
        ...usual,
        gap: () => 60,
        change: (row, _, i) => ({ ...row, toe_before_mm: 96 + (i % 2), toe_after_mm: 80 - (i % 3) }),
      }),
    ),
  'every toe shorter than after the trim': () =>
    visitTable(
      herdRows({
        ...usual,
        change: (row) => ({
          ...row,
          toe_before_mm: 60,
          toe_after_mm: 60 - 0.5,
          ...(row.foot === 'LF' ? { toe_after_mm: 80 } : {}),
        }),
      }),
    ),
  'every cycle over a year': () => visitTable(herdRows({ ...usual, gap: () => 400 })),
  'nothing measured or graded': () =>
    visitTable(
      herdRows({
        ...usual,
        change: ({ horse_id, visit_date, foot }) => ({
          horse_id: horse_id!,
          visit_date: visit_date!,
          foot: foot!,
        }),
      }),
    ),
  'horses, ground and care unknown': () =>
    visitTable(
      herdRows({
        ...usual,
        change: (row) => ({
          ...row,
          breed_type: null,
          terrain: null,
          moisture: null,
          client_id: null,
          practitioner_id: null,
          birth_year: null,
          relief: null,
          protection: null,
          antifungal: null,
        }),
      }),
    ),
  'one foot of each horse': () => visitTable(herdRows({ ...usual, feet: ['RH'] })),
};
