import { expect, it } from 'vitest';
import { isoFromDay } from '../../src/core/civil-day.ts';
import { admitText } from './admit.ts';

const ROWS = 200_000;

function longExport(): string {
  const lines = [
    'horse_id,visit_date,foot,terrain,toe_before_mm,toe_after_mm,heel_before_mm,crack_grade,notes',
  ];
  for (let row = 0; row < ROWS; row++) {
    const visit = row >> 2;
    const toe = 80 + ((row * 7919) % 400) / 10;
    const date = isoFromDay(18_000 + Math.floor(visit / 2000) * 42);
    const crack = row % 100 === 0 ? 9 : row % 3;
    lines.push(
      `H${visit % 2000},${date},${['LF', 'RF', 'LH', 'RH'][row & 3]},soft,${toe},${toe - 4},31,${crack},"dry, firm"`,
    );
  }
  return lines.join('\n');
}

it('reads 200,000 rows, each accounted for (time printed, not asserted)', async () => {
  const text = longExport();
  const start = performance.now();
  const { admitted, report } = await admitText(text);
  console.info(`${ROWS} rows in ${Math.round(performance.now() - start)} ms`);
  expect(report).toMatchObject({
    rowsRead: ROWS,
    admitted: ROWS - ROWS / 100,
    setAside: ROWS / 100,
    identityHolds: true,
  });
  expect(admitted.rowCount).toBe(report.admitted);
});
