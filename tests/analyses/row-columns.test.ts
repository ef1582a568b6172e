import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { cycleTable, groupAsk, markAsk, numberAsk } from '../../src/analyses/cycle-table.ts';
import { cohortVisits } from '../../src/analyses/visit-rows.ts';
import { rowsOf } from '../../src/core/table.ts';
import { piecesOf } from '../../src/core/table-pieces.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openHerdOf, tenHorses } from '../ten-horses.ts';
import { runAnalysis } from './run-analysis.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openHerdOf(await tenHorses());
});
afterAll(() => engine.close());

const signal = new AbortController().signal;

/** The same engine, handing answers over so many rows at a time, as `become` makes of what it is asked. */
function inPieces(rows: number, become: (sql: string) => string = (sql) => sql): Engine {
  return {
    ...engine,
    async inPieces(sql, take) {
      const whole = await engine.query(become(sql));
      const { piece } = piecesOf(whole);
      for (let from = 0; from === 0 || from < whole.rowCount; from += rows)
        take(piece(from, Math.min(whole.rowCount, from + rows)));
    },
  };
}

const ASK = {
  columns: {
    days: numberAsk('days'),
    crack: markAsk('crack_start'),
    name: groupAsk('horse_name'),
    ground: groupAsk('terrain'),
    // A level that is not listed: its texts are asked for.
    season: { kind: 'text', sql: 'season', levels: ['winter', 'spring'] },
  },
  where: ['flag IS NULL'],
} as const;

describe('columns taken piece by piece', () => {
  test.each([7, 1_000_000])('are the same in pieces of %i rows as whole', async (rows) => {
    const whole = rowsOf(await cycleTable({ engine, signal }, ASK));
    expect(whole.length).toBeGreaterThan(100);
    expect(rowsOf(await cycleTable({ engine: inPieces(rows), signal }, ASK))).toEqual(whole);
    const asks = [groupAsk('season'), groupAsk('client_id'), markAsk('separation_grade')];
    const visits = await cohortVisits({ engine, signal }, asks);
    expect(visits.order).not.toBeNull();
    expect(await cohortVisits({ engine: inPieces(rows), signal }, asks)).toEqual(visits);
  });

  test('go where their rows are, in whatever order a statement gives them', async () => {
    const whole = rowsOf(await cycleTable({ engine, signal }, ASK));
    const turned = inPieces(50, (sql) => sql.replace(/FROM cohort_cycle$/, '$& ORDER BY days, row_no'));
    expect(rowsOf(await cycleTable({ engine: turned, signal }, ASK))).toEqual(whole);
  });

  test('are refused where the rows are no longer those of before', async () => {
    const fewer = inPieces(50, (sql) => (sql.includes('c0') ? `${sql} WHERE cycle_number > 1` : sql));
    await expect(cycleTable({ engine: fewer, signal }, ASK)).rejects.toThrow(
      /rows must be \d+, the same as before: \d+/,
    );
    const others = inPieces(50, (sql) =>
      sql.includes('c0') ? sql.replace('SELECT row_no', 'SELECT row_no + 100000 AS row_no') : sql,
    );
    await expect(cycleTable({ engine: others, signal }, ASK)).rejects.toThrow(
      /rows must be the same as before: \d+/,
    );
  });

  test('give the same answer of a page', async () => {
    const whole = await runAnalysis(engine, 'caseload', {});
    expect(whole.tables[0]!.table.rowCount).toBeGreaterThan(0);
    expect(await runAnalysis(inPieces(90), 'caseload', {})).toEqual(whole);
  });
});
