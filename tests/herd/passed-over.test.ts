import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { rebuildSql } from '../../src/herd/relations.ts';
import { NO_HORSES, visitTable } from '../herd-fixture.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

const FEET = ['LF', 'RF', 'LH', 'RH'];
const DAYS = ['2025-01-01', '2025-02-12', '2025-03-26', '2025-05-07', '2025-06-18'];

/** Five visits of one horse, six weeks apart; `seen` says which feet were written down at each. */
function visits(horse_id: string, seen: (visit: number, foot: string) => boolean) {
  return DAYS.flatMap((visit_date, visit) =>
    FEET.filter((foot) => seen(visit, foot)).map((foot) => ({
      horse_id,
      foot,
      visit_date,
      toe_before_mm: 90,
      toe_after_mm: 80,
    })),
  );
}

/** `LF 2025-01-01` of each flagged cycle. */
async function flagged(rows: ReturnType<typeof visits>): Promise<string[]> {
  await loadHerd(engine, { visits: visitTable(rows), horses: NO_HORSES }, { hemisphere: 'north' });
  return flags();
}

async function flags(): Promise<string[]> {
  const table = await engine.query(
    `SELECT horse_id, foot, visit_date::VARCHAR AS day, flag FROM trim_cycle WHERE flag IS NOT NULL ORDER BY 1, 2, 3`,
  );
  return rowsOf(table).map(({ horse_id, foot, day, flag }) => `${horse_id} ${foot} ${day}: ${flag}`);
}

describe('a cycle across a visit at which only the other feet were recorded', () => {
  it('is flagged where the horse’s visits mostly hold all feet, and kept', async () => {
    // One of five visits lacks a foot: four in five are whole.
    const rows = visits('A', (visit, foot) => !(visit === 2 && foot === 'LF'));
    expect(await flagged(rows)).toEqual(['A LF 2025-02-12: another visit between']);
    const [all] = rowsOf(await engine.query('SELECT count(*) AS n FROM trim_cycle'));
    // Four cycles a foot, and one less where two were run into one.
    expect(all?.n).toBe(15);
  });

  it('is not flagged where feet are recorded singly, in pairs, or too seldom together', async () => {
    expect(await flagged(visits('A', (visit, foot) => FEET[visit % 4] === foot))).toEqual([]);
    expect(await flagged(visits('A', (visit, foot) => visit % 2 === 0 || foot.endsWith('F')))).toEqual([]);
    // Two of five visits lack a foot: three in five are whole.
    expect(
      await flagged(visits('A', (visit, foot) => !((visit === 1 || visit === 3) && foot === 'RH'))),
    ).toEqual([]);
    expect(await flagged(visits('A', (_, foot) => foot === 'LF'))).toEqual([]);
  });

  it('is the same when one horse’s rows are built anew, whatever other horses do', async () => {
    const rows = [
      ...visits('A', (visit, foot) => !(visit === 2 && foot === 'LF')),
      ...visits('B', (visit, foot) => FEET[visit % 4] === foot),
    ];
    const before = await flagged(rows);
    for (const sql of rebuildSql(`'A'`, { hemisphere: 'north' })) await engine.run(sql);
    expect(await flags()).toEqual(before);
    expect(before).toHaveLength(1);
  });
});
