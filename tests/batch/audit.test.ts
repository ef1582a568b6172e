import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { TIDY_COLUMNS } from '../../src/analyses/analysis.ts';
import { audit } from '../../src/batch/audit.ts';
import { AUDIT_PLAN } from '../../src/batch/audit-plan.ts';
import { civilDay } from '../../src/core/civil-day.ts';
import { hasNativeEngine } from '../../src/engine/native-engine.ts';
import { figureFaults } from '../../src/tasks/documents/figure-faults.ts';
import { documents } from '../../src/tasks/documents/markdown.ts';
import { documentedFigures } from './documented-figures.ts';
import { rowsOfCsv, writePartitioned } from './partitioned.ts';
import {
  countIntervals,
  headerOf,
  type Row,
  readResults,
  unfoundCounts,
  unfoundIntervals,
} from './read-results.ts';
import { differences, faultsOf, findingsOf } from './same-results.ts';

const data = (name: string): string => fileURLToPath(new URL(`../../data/${name}`, import.meta.url));
const USES = [...new Set(AUDIT_PLAN.map(({ use }) => use))];

let folder: string;
let status: number;
const told: string[] = [];
const complaints: string[] = [];
let tables: Map<string, readonly Row[]>;
let findings: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'growout-audit-'));
  status = await audit(
    [data('demo-visits.csv'), data('demo-horses.csv'), '--out', join(folder, 'results')],
    (line) => told.push(line),
    (line) => complaints.push(line),
    civilDay(2026, 11, 25)!,
  );
  folder = join(folder, 'results');
  tables = readResults(folder);
  // Figures may be tied to their units by spaces that do not break.
  findings = readFileSync(join(folder, 'findings.md'), 'utf8').replace(/[\u00a0\u202f]/g, ' ');
}, 300_000);
afterAll(() => rmSync(join(folder, '..'), { recursive: true, force: true }));

const rowsOf = (name: string): readonly Row[] => {
  const rows = tables.get(name);
  if (!rows) throw new Error(`results must hold ${name}: ${[...tables.keys()].join(', ')}`);
  return rows;
};

/** What `findings.md` says under the titles of one analysis. */
function saidOf(use: string): string {
  return AUDIT_PLAN.filter((planned) => planned.use === use)
    .map(({ title }) => findings.split(`\n## ${title}\n`)[1]?.split('\n## ')[0] ?? '')
    .join('\n');
}

/** Every table of one analysis. */
const tablesOf = (use: string): Row[] =>
  [...tables]
    .filter(([name]) => name === `${use}.csv` || name.startsWith(`tables/${use}-`))
    .flatMap(([, rows]) => rows);

describe('an audit of the demo herd', () => {
  it('ends well, with nothing to complain of, and the rows accounted for', () => {
    expect(status).toBe(0);
    expect(complaints).toEqual([]);
    const [read, admitted, aside] = (told[0]?.match(/\d+/g) ?? []).map(Number);
    expect(told[0]).toBe(`${read} rows read = ${admitted} admitted + ${aside} set aside`);
    expect(read).toBe(admitted! + aside!);
    expect(findings).toContain(told[0]);
    const setAside = rowsOf('set-aside.csv');
    expect(new Set(setAside.map((row) => row.set_aside_row)).size).toBe(aside);
    for (const row of setAside) {
      expect(row).toMatchObject({ file: 'demo-visits.csv', reason: /./, accepted: /./, raw: /,/ });
      expect(Number(row.line)).toBeGreaterThan(1);
    }
  });

  it('gives the figures that documents quote of the demo herd', () => {
    expect(figureFaults(documentedFigures(rowsOf), documents())).toEqual([]);
  });

  it.each(USES)('writes the estimates of %s under the tidy columns and no others', (use) => {
    expect(headerOf(folder, `${use}.csv`)).toBe(TIDY_COLUMNS.join(','));
    const rows = rowsOf(`${use}.csv`);
    expect(rows.length).toBeGreaterThan(0);
    for (const row of rows) {
      expect(row.analysis).toBe(use);
      expect(row.term).not.toBe('');
      const [horses, feet, cycles] = [row.n_horses, row.n_feet, row.n_cycles].map(Number);
      expect(horses).toBeGreaterThanOrEqual(1);
      expect(horses).toBeLessThanOrEqual(120);
      expect(feet).toBeGreaterThanOrEqual(horses!);
      expect(feet).toBeLessThanOrEqual(horses! * 4);
      expect(cycles).toBeGreaterThanOrEqual(feet!);
    }
  });

  it.each(USES)(
    'writes for %s numbers or nothing, each estimate inside its interval, each row once',
    (use) => {
      const rows = rowsOf(`${use}.csv`);
      for (const row of rows) {
        for (const name of ['estimate', 'std_error', 'conf_low', 'conf_high'] as const) {
          expect(
            row[name] === '' || Number.isFinite(Number(row[name])),
            `${row.term} ${row.level} ${name}`,
          ).toBe(true);
        }
        if (row.estimate === '' || row.conf_low === '' || row.conf_high === '') continue;
        expect(Number(row.conf_low), `${row.term} ${row.level}`).toBeLessThanOrEqual(Number(row.estimate));
        expect(Number(row.conf_high), `${row.term} ${row.level}`).toBeGreaterThanOrEqual(
          Number(row.estimate),
        );
      }
      const keys = rows.map(({ problem, term, level }) => `${problem} | ${term} | ${level}`);
      expect(keys.filter((key, i) => keys.indexOf(key) !== i)).toEqual([]);
    },
  );

  it('writes no NaN, and no SQL of the notebook’s own', () => {
    for (const [name, rows] of tables) {
      expect(
        rows.filter((row) => Object.values(row).includes('NaN')),
        name,
      ).toEqual([]);
      expect(
        Object.keys(rows[0] ?? {}).filter((column) => column.startsWith('behind')),
        name,
      ).toEqual([]);
    }
  });

  it('writes a row for each horse', () => {
    const horses = rowsOf('tables/growth-per_horse-breed_type-terrain.csv');
    expect(new Set(horses.map((row) => row.horse_id)).size).toBe(horses.length);
    expect(horses.length).toBeGreaterThan(110);
    expect(horses[0]).toMatchObject({
      horse_id: /^H\d{3}$/,
      estimate: /^\d/,
      conf_low: /^\d/,
      n_cycles: /^\d+$/,
    });
  });

  it.each(USES)('says of %s nothing that its tables do not hold', (use) => {
    const said = saidOf(use);
    expect(countIntervals(said)).toBeGreaterThan(0);
    expect(unfoundIntervals(said, tablesOf(use))).toEqual([]);
    expect(unfoundCounts(said, tablesOf(use))).toEqual([]);
  });

  it('would find a sentence out that says something else', () => {
    const said = saidOf('growth');
    const [low] = /(?<=\(95 % )\d+\.\d\d(?= to)/.exec(said) ?? [''];
    const bent = said.replaceAll(`(95 % ${low} to`, `(95 % ${(Number(low) + 0.02).toFixed(2)} to`);
    expect(unfoundIntervals(bent, tablesOf('growth')).length).toBeGreaterThan(0);
    expect(unfoundCounts('From 121 horses, 480 feet, 9 trim cycles', tablesOf('growth'))).toHaveLength(1);
  });

  it('begins with the cautions and gives each answer its method and source', () => {
    expect(findings).toContain('not diagnosis');
    expect(findings).toContain('veterinarian');
    for (const { title } of AUDIT_PLAN) {
      expect(findings.split(`\n## ${title}\n`)).toHaveLength(2);
    }
    expect(findings.match(/^Method: .+ \(.+ \d{4}.*\)\.$/gm)).toHaveLength(AUDIT_PLAN.length);
  });
});

const isThere = hasNativeEngine();
const unless = isThere ? '' : ' (left out: @duckdb/node-api is not installed)';

describe.skipIf(!isThere)(`an audit of the demo herd in folders, by the native engine${unless}`, () => {
  it('prints what the browser’s engine prints of the same herd in two files', {
    timeout: 300_000,
  }, async () => {
    const [record, out] = [join(folder, '..', 'record'), join(folder, '..', 'native')];
    const year = (row: Row): string => `practice=Ouzel/year=${row.visit_date?.slice(0, 4)}`;
    await writePartitioned(record, rowsOfCsv(data('demo-visits.csv')), year);
    await writePartitioned(
      join(record, 'horses'),
      rowsOfCsv(data('demo-horses.csv')),
      () => 'practice=Ouzel',
    );
    const complaints: string[] = [];
    const today = civilDay(2026, 11, 25)!;
    expect(
      await audit(
        [record, '--out', out, '--memory', '500MB'],
        () => undefined,
        (line) => complaints.push(line),
        today,
      ),
    ).toBe(0);
    expect(complaints).toEqual([]);
    expect(findingsOf(out)).toBe(findingsOf(folder));
    expect(differences(folder, out)).toEqual([]);
    expect(faultsOf(out)).toEqual(faultsOf(folder));
  });
});
