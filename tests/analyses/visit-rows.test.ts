import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { standingByHorse } from '../../src/analyses/caseload/standing.ts';
import { feetAhead, footAhead } from '../../src/analyses/growth/forecast-data.ts';
import { horsesNow } from '../../src/analyses/interval-plan/data.ts';
import { makeMemory } from '../../src/analyses/memory.ts';
import { byFoot, cohortVisits, keyOfFoot } from '../../src/analyses/visit-rows.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { CYCLE_ROW } from '../../src/herd/herd-names.ts';
import { FEET } from '../../src/herd/vocabularies.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
  await engine.run("ATTACH ':memory:' AS herd_record");
  // H2's left fore was written down twice on its last day, the later line first, and once without a line.
  await engine.run(`CREATE TABLE foot_visit_all AS SELECT *, NULL::INTEGER AS fungal_frog_grade,
      NULL::INTEGER AS fungal_wall_grade, NULL::INTEGER AS crack_grade, NULL::INTEGER AS sensitivity,
      'winter' AS season, 'Yard' AS client_id
    FROM (VALUES
    (1, 'H10', 'RF', DATE '2026-01-10', 'soft', 'dry', NULL, 0, 'a.csv', 1, 'Ten'),
    (2, 'H10', 'LF', DATE '2026-01-10', 'firm', NULL, 'pony', 1, 'a.csv', 2, 'Ten'),
    (3, 'H10', 'LF', DATE '2026-03-10', NULL, 'wet', 'pony', 0, 'a.csv', 3, 'Ten'),
    (4, 'H10', 'LF', DATE '2026-05-10', 'rocky', NULL, 'pony', 2, 'b.csv', 1, 'Ten'),
    (5, 'H2', 'LF', DATE '2026-02-01', 'soft', 'dry', 'draft', 1, 'a.csv', 9, 'Two'),
    (6, 'H2', 'LF', DATE '2026-04-01', 'mixed', 'wet', 'draft', 3, 'a.csv', 12, 'Two, later'),
    (7, 'H2', 'LF', DATE '2026-04-01', 'firm', 'mixed', 'draft', 0, 'a.csv', 11, 'Two, earlier'),
    (8, 'H2', 'LF', DATE '2026-04-01', NULL, NULL, 'draft', NULL, NULL, NULL, 'Two, by hand')
  ) v(row_no, horse_id, foot, visit_date, terrain, moisture, breed_type, separation_grade, source_file, source_line, horse_name)`);
  await engine.run(`CREATE TABLE ${CYCLE_ROW} AS SELECT * FROM (VALUES
    (2, 2, 'H10', 'H10 LF', 1, 59.0, NULL), (3, 2, 'H10', 'H10 LF', 2, 62.0, NULL),
    (5, 5, 'H2', 'H2 LF', 1, 59.0, 'toe shorter than after the trim')
  ) v(row_no, foot_no, horse_id, foot_key, cycle_number, days, flag)`);
  await engine.run(`CREATE VIEW trim_cycle_all AS SELECT * FROM ${CYCLE_ROW};
    CREATE VIEW cohort_cycle AS SELECT * FROM ${CYCLE_ROW};
    CREATE VIEW cohort_cycle_no AS SELECT * FROM ${CYCLE_ROW};
    CREATE VIEW cohort_visit AS SELECT * FROM foot_visit_all WHERE visit_date > DATE '2026-01-31' OR foot = 'LF';
    CREATE VIEW cohort_visit_no AS SELECT row_no FROM cohort_visit`);
});
afterAll(() => engine.close());

const [ofCohort, ofHerd] = [makeMemory().over('c').remember, makeMemory().over('').remember];
const signal = new AbortController().signal;
const day = (iso: string): CivilDay => dayFromIso(iso)!;

describe.each([
  ['of the cohort alone', () => ({ engine, signal, remember: ofCohort })],
  ['chosen from the whole herd', () => ({ engine, signal, remember: ofCohort, rememberHerd: ofHerd })],
])('visits %s', (_, context) => {
  test('come by horse, foot, day, and by the line of the file on one day', async () => {
    const visits = await cohortVisits(context(), []);
    const feet = Array.from(byFoot(visits), (rows) => [
      keyOfFoot(visits.horseIds, visits.foot[rows[0]!]!),
      rows.map((row) => visits.source.get(row)?.line ?? null),
    ]);
    expect(feet).toEqual([
      ['H10 LF', [null, null, null]],
      ['H2 LF', [null, 11, 12, Number.NaN]],
    ]);
  });

  test('tell the ground of each foot’s latest visit, or as of a day, or of its first', async () => {
    const ground = async (asOf?: CivilDay) => {
      const feet = await feetAhead(context(), asOf);
      const known = feet.horseIds.flatMap((horse) => FEET.map((foot) => `${horse} ${foot}`));
      return known.flatMap((key) => {
        const foot = footAhead(feet, key);
        return foot ? [`${key}: ${foot.terrain}`] : [];
      });
    };
    expect(await ground()).toEqual(['H10 LF: rocky', 'H2 LF: firm']);
    expect(await ground(day('2026-04-30'))).toEqual(['H10 LF: firm', 'H2 LF: firm']);
    expect(await ground(day('2025-01-01'))).toEqual(['H10 LF: firm', 'H2 LF: soft']);
  });

  test('tell how each horse stands: the last line of its last day, its usual interval by unflagged cycles', async () => {
    const horses = await horsesNow(context());
    expect(horses.map(({ id, name, usualDays, nCycles }) => [id, name, usualDays, nCycles])).toEqual([
      ['H10', 'Ten', 61, 2],
      ['H2', 'Two, later', null, 0],
    ]);
    // Of two grounds on one day the last by the alphabet; what was not graded is not told.
    expect(horses.flatMap(({ feet }) => feet.map(({ groups }) => groups))).toEqual([
      { breed_type: 'pony', terrain: 'rocky', moisture: 'wet' },
      { breed_type: 'draft', terrain: 'mixed', moisture: 'wet' },
    ]);
    expect(horses.map(({ feet }) => feet[0]!.state)).toEqual([
      { separation: 1, frog_infection: Number.NaN, wall_infection: Number.NaN },
      { separation: 1, frog_infection: Number.NaN, wall_infection: Number.NaN },
    ]);
  });

  test('tell what stands at the last visit, beside the grade before it and whether it was there earlier', async () => {
    const found = await standingByHorse(context());
    const told = [...found.values()]
      .flat()
      .map(({ horseId, grade, before, wasThere }) => [horseId, grade, before, wasThere]);
    expect(told).toEqual([
      ['H10', 2, 0, true],
      ['H2', 3, 0, true],
    ]);
  });
});
