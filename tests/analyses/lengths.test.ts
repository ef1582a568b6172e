import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import { analysisNamed } from '../../src/analyses/index.ts';
import { lengthWords, type ShownLength } from '../../src/analyses/lengths.ts';
import { formatCell } from '../../src/core/format-value.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { tableInLengths } from '../../src/pages/shown-lengths.ts';
import { tableView } from '../../src/pages/table-view.ts';
import { demoTables, openHerdOf, TODAY, tenHorses } from '../ten-horses.ts';
import { expectSound } from './run-analysis.ts';

const herds: Record<string, Engine> = {};
beforeAll(async () => {
  herds.demo = await openHerdOf(await demoTables());
  herds.ten = await openHerdOf(await tenHorses());
});
afterAll(() => Promise.all(Object.values(herds).map((engine) => engine.close())));

function run(engine: Engine, name: string, options: object, lengths: ShownLength): Promise<AnalysisResult> {
  const analysis = analysisNamed(name);
  return analysis.run(analysis.options.parse(options), {
    engine,
    today: TODAY,
    lengths,
    signal: new AbortController().signal,
    progress: () => undefined,
  });
}

const FIGURE = '−?\\d[\\d,]*(?:\\.\\d+)?';
/** `… 7.52 mm … (95 % 7.21 to 7.83`: an interval that is no share, with what stands before it. */
const INTERVAL = new RegExp(`([^;:()]*)\\(95 % (${FIGURE}) to (${FIGURE})(?![\\d.,]*\\d| ?%)`, 'g');

/** Estimate and limits of every row of every table, as people read them. */
function shownRows(result: AnalysisResult, lengths: ShownLength): string[][] {
  return result.tables.flatMap(({ name }) => {
    const view = tableView(`x.${name}`, { kind: 'analysis', analysis: result });
    if (!('conf_low' in view.table.columns)) return [];
    const { table, columns } = tableInLengths(view.table, view.columns, lengths);
    const cell = (of: string, row: number) =>
      formatCell(table, columns.find((column) => column.name === of)!, row);
    return Array.from({ length: table.rowCount }, (_, row) =>
      ['estimate', 'conf_low', 'conf_high'].map((of) => cell(of, row)),
    );
  });
}

/** Intervals in sentences that stand in no row of a table, figure for figure. */
function unfound(result: AnalysisResult, lengths: ShownLength): { told: number; unfound: string[] } {
  const rows = shownRows(result, lengths);
  // A fall is told without its sign, its limits the other way round.
  const turned = rows.map(([e = '', low = '', high = '']) =>
    [e, high, low].map((text) => (text.startsWith('−') ? text.slice(1) : `−${text}`)),
  );
  const text = result.findings.map(({ sentence }) => sentence.replace(/\u00a0/g, ' ')).join('\n');
  const told = [...text.matchAll(INTERVAL)];
  const stands = ([, before = '', low, high]: RegExpMatchArray): boolean => {
    const figures = before.match(new RegExp(FIGURE, 'g')) ?? [];
    return [...rows, ...turned].some(
      ([e, l, h]) => l === low && h === high && figures.some((figure) => figure === e),
    );
  };
  return { told: told.length, unfound: told.filter((match) => !stands(match)).map(([whole]) => whole) };
}

interface Asked {
  readonly herd: string;
  readonly name: string;
  readonly options: Readonly<Record<string, unknown>>;
}
const HELD = { by: 'breed_type', adjust: ['terrain'] };
const ASKED: readonly Asked[] = [
  { herd: 'demo', name: 'growth', options: HELD },
  { herd: 'demo', name: 'wear', options: { by: 'terrain' } },
  { herd: 'demo', name: 'drift', options: { measure: 'toe', by: 'none' } },
  { herd: 'ten', name: 'growth', options: HELD },
  { herd: 'ten', name: 'growth', options: { by: 'terrain', measure: 'heel' } },
  { herd: 'ten', name: 'wear', options: { by: 'terrain' } },
  { herd: 'ten', name: 'drift', options: { measure: 'toe' } },
];

describe('sentences of lengths', () => {
  it.each(ASKED)('$herd herd, $name $options: as the tables, in mm and in inches', async (asked) => {
    const { herd, name, options } = asked;
    const inMm = await run(herds[herd]!, name, options, 'mm');
    const inInches = await run(herds[herd]!, name, options, 'in');
    for (const [result, lengths] of [
      [inMm, 'mm'],
      [inInches, 'in'],
    ] as const) {
      const { told, unfound: astray } = unfound(result, lengths);
      expect(astray).toEqual([]);
      if (herd === 'demo') expect(told).toBeGreaterThan(1);
      await expectSound(herds[herd]!, result);
    }
    expect(inInches.tables).toEqual(inMm.tables);
    const words = inInches.findings.map(({ sentence }) => sentence).join(' ');
    expect(words).not.toMatch(/\bmm\b/);
    expect(words).toMatch(herd === 'demo' ? /\d\u00a0in per 30/ : /./);
  });
});

describe('a length in words', () => {
  it('says as much in inches as in mm', () => {
    const [mm, inches] = [lengthWords('mm'), lengthWords('in')];
    // 7.62 mm is 0.3 in exactly.
    expect(mm.quantity(7.62, 'mm per 30 days', 2)).toBe('7.62\u00a0mm per 30 days');
    expect(inches.quantity(7.62, 'mm per 30 days', 2)).toBe('0.300\u00a0in per 30 days');
    expect(inches.quantity(5, 'mm', 0)).toBe('0.20\u00a0in');
    expect(inches.interval95(25.4, 50.8, 'mm', 1)).toBe('95\u00a0% 1.00 to 2.00');
    expect(inches.figure(0.4, '° per 30 days', 2)).toBe('0.40');
    expect([mm.unit('mm per 30 days'), inches.unit('mm per 30 days')]).toEqual([
      'mm per 30 days',
      'inches per 30 days',
    ]);
  });
});
