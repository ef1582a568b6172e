import type { Table } from '../../src/core/table.ts';
import { FOOT_VISIT } from '../../src/herd/dictionary.ts';
import { FEET } from '../../src/herd/vocabularies.ts';
import type { Random } from '../../src/stats/random.ts';
import { GRADES, herdRows, type Row, type Shape } from '../hard-cases/herds.ts';
import { visitTable } from '../herd-fixture.ts';
import { CODE, NAMES } from './hostile-cells.ts';

/** One way in which a herd departs from an ordinary one. */
type Departure = (random: Random) => Partial<Omit<Shape, 'change'>> & { readonly change?: Shape['change'] };

const bounded = FOOT_VISIT.filter(({ low, high, kind }) => low !== null && high !== null && kind !== 'grade');
const inWords = FOOT_VISIT.filter(({ levels, name }) => levels !== null && name !== 'foot');
const MEASURED = bounded.map(({ name }) => name).filter((name) => name !== 'birth_year');

const graded = (row: Row, grade: number | null): Row => ({
  ...row,
  ...Object.fromEntries(GRADES.map((name) => [name, grade])),
});
const set = (row: Row, names: readonly string[], value: (name: string) => Row[string]): Row => ({
  ...row,
  ...Object.fromEntries(names.map((name) => [name, value(name)])),
});
const limit = (name: string, end: 'low' | 'high'): number =>
  bounded.find((column) => column.name === name)?.[end] as number;
/** No toe is longer after its trim: intake would not admit it. */
const admissible = (row: Row): Row =>
  Number(row.toe_after_mm) > Number(row.toe_before_mm)
    ? { ...row, toe_after_mm: row.toe_before_mm ?? null }
    : row;

const DEPARTURES: Readonly<Record<string, Departure>> = {
  'one horse': () => ({ horses: 1 }),
  'two horses': () => ({ horses: 2 }),
  'one visit': () => ({ visits: 1 }),
  'two visits': () => ({ visits: 2 }),
  'many visits': () => ({ horses: 2, visits: 60, gap: () => 20 }),
  'one foot': (random) => ({ feet: [random.pick(FEET)] }),
  'two rows': () => ({ horses: 1, visits: 2, feet: ['LF'] }),
  'one interval throughout': (random) => {
    const days = random.pick([1, 6, 7, 30, 42, 84, 365]);
    return { gap: () => days };
  },
  'each horse its own interval': () => ({ gap: (h) => 21 + 7 * (h % 9) }),
  'every cycle flagged': (random) => {
    const days = random.pick([1, 3, 366, 900]);
    return { gap: () => days };
  },
  'several visits on a day': (random) => {
    const every = random.integer(1, 3);
    return { gap: (_, i) => (i % every === 0 ? 0 : 42) };
  },
  'visits years apart': (random) => ({ visits: 5, gap: () => random.pick([40, 400, 1500]) }),
  'visits of long ago': () => ({ firstDay: 3_652 }),
  'visits up to today': () => ({ firstDay: 20_700, visits: 2, gap: () => 30 }),
  'no events': () => ({ change: (row) => graded(row, 0) }),
  'all events': (random) => {
    const grade = random.integer(1, 3);
    return { change: (row) => graded(row, grade) };
  },
  'nothing graded': () => ({ change: (row) => graded(row, null) }),
  'one event': () => ({
    change: (row, h, i) => graded(row, h === 0 && i === 1 && row.foot === 'LF' ? 2 : 0),
  }),
  'one clear visit': () => ({ change: (row, h, i) => graded(row, h === 0 && i === 1 ? 0 : 1) }),
  'events at every other visit': () => ({ change: (row, _, i) => graded(row, i % 2) }),
  'events in one group': (random) => {
    const by = random.pick(['moisture', 'terrain', 'breed_type', 'foot', 'client_id', 'protection']);
    const group = random.pick(['wet', 'firm', 'pony', 'LF', 'Yard 0', 'boot']);
    return { change: (row) => graded(row, row[by] === group ? 1 : 0) };
  },
  'grades at random': (random) => ({ change: (row) => set(row, GRADES, () => random.integer(0, 3)) }),
  'grades mostly missing': (random) => ({
    change: (row) => set(row, GRADES, () => (random.uniform() < 0.8 ? null : random.integer(0, 1))),
  }),
  'nothing measured': () => ({ change: (row) => set(row, MEASURED, () => null) }),
  'measured alike throughout': (random) => {
    const at = random.uniform();
    return {
      change: (row) => set(row, MEASURED, (n) => limit(n, 'low') + at * (limit(n, 'high') - limit(n, 'low'))),
    };
  },
  'measures at their lowest': () => ({ change: (row) => set(row, MEASURED, (name) => limit(name, 'low')) }),
  'measures at their highest': () => ({ change: (row) => set(row, MEASURED, (name) => limit(name, 'high')) }),
  'measures from lowest to highest': () => ({
    change: (row, _, i) => set(row, MEASURED, (name) => limit(name, i % 2 ? 'low' : 'high')),
  }),
  'measures anywhere': (random) => ({
    change: (row) =>
      set(row, MEASURED, (n) => limit(n, 'low') + random.uniform() * (limit(n, 'high') - limit(n, 'low'))),
  }),
  'measures a hair apart': (random) => ({
    change: (row) => set(row, MEASURED, (name) => limit(name, 'high') - 1e-9 * random.uniform()),
  }),
  'measures mostly missing': (random) => ({
    change: (row) => set(row, MEASURED, (name) => (random.uniform() < 0.85 ? null : (row[name] ?? null))),
  }),
  'one level': (random) => {
    const levels = new Map(
      inWords.map(({ name, levels: all }) => [name, random.pick(all as readonly string[])]),
    );
    return { change: (row) => set(row, [...levels.keys()], (name) => levels.get(name as 'terrain') ?? null) };
  },
  'levels unknown': () => ({
    change: (row) =>
      set(
        row,
        [...inWords.map(({ name }) => name), 'client_id', 'practitioner_id', 'birth_year'],
        () => null,
      ),
  }),
  'levels at random': (random) => ({
    change: (row) => {
      const made: Record<string, Row[string]> = { ...row };
      for (const { name, levels } of inWords)
        made[name] = random.pick([...(levels as readonly string[]), null]);
      return made;
    },
  }),
  'levels that say the same': () => ({
    change: (row, h) => ({
      ...row,
      terrain: ['soft', 'mixed', 'firm', 'rocky'][h % 4] ?? null,
      moisture: ['wet', 'mixed', 'dry'][(h % 4) % 3] ?? null,
      breed_type: ['draft', 'pony', 'light', 'donkey'][h % 4] ?? null,
      client_id: `Yard ${h % 4}`,
    }),
  }),
  'one client': () => ({ change: (row) => ({ ...row, client_id: 'Yard', practitioner_id: 'P' }) }),
  'a client to each visit': () => ({ change: (row, h, i) => ({ ...row, client_id: `${h} ${i}` }) }),
  'yes or no throughout': (random) => {
    const answer = random.pick([true, false, null]);
    return { change: (row) => set(row, ['coronet_injury', 'wall_broken', 'antifungal'], () => answer) };
  },
  'names of every script': (random) => ({
    change: (row, h) => {
      const text = [...NAMES, ...CODE][(h * 7 + 3) % (NAMES.length + CODE.length)]?.trim() || 'x';
      return {
        ...row,
        horse_id: `${text} ${h}`,
        horse_name: text,
        client_id: random.pick([text, 'Yard']),
        marker_id: text,
      };
    },
  }),
  'born after the visit': () => ({ change: (row) => ({ ...row, birth_year: 2026 }) }),
};

const NAMES_OF = Object.keys(DEPARTURES);

export interface RandomHerd {
  readonly departures: readonly string[];
  readonly table: Table;
}

/** A small herd that departs from an ordinary one in one to four ways at once. */
export function randomHerd(random: Random): RandomHerd {
  const departures = random.shuffle(NAMES_OF).slice(0, random.integer(1, 4));
  let shape: Shape = { horses: random.pick([1, 2, 3, 5, 9]), visits: random.pick([1, 2, 4, 7]) };
  const changes: NonNullable<Shape['change']>[] = [];
  for (const name of departures) {
    const { change, ...rest } = (DEPARTURES[name] as Departure)(random);
    shape = { ...shape, ...rest };
    if (change) changes.push(change);
  }
  const change: Shape['change'] = (row, h, i) =>
    admissible(changes.reduce((changed, one) => one(changed, h, i), row));
  const rows = herdRows({ ...shape, change, seed: random.integer(0, 1_000_000) });
  return { departures, table: visitTable(rows) };
}
