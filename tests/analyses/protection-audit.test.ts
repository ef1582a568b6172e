import { describe, expect, it } from 'vitest';
import { decisionText } from '../../src/core/decision-table.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { rowsOf } from '../../src/core/table.ts';
import { mantelHaenszel } from '../../src/stats/mantel-haenszel.ts';
import { countIntervals, unfoundCounts, unfoundIntervals } from '../batch/read-results.ts';
import reference from '../reference/risk-strata.json' with { type: 'json' };
import { demoTables, openHerdOf, tenHorses } from '../ten-horses.ts';
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

const PROTECT_ALL = decisionText({ rows: [], otherwise: 'protect' });

/** A foot left in something at one visit and tender or not at the next, six weeks on; each on a horse of its own. */
function cycle(id: string, protection: string, tenderNext: 0 | 1, terrain: string, more: Row = {}): Row[] {
  const foot = { horse_id: id, foot: 'LF', breed_type: 'pony', moisture: 'dry', ...more };
  return [
    { ...foot, visit_date: dayAfter(0), protection, sole_depth_mm: 13, sensitivity: 0, ...more },
    { ...foot, visit_date: dayAfter(42), protection, sole_depth_mm: 13, sensitivity: tenderNext, terrain },
  ];
}

const several = (name: string, n: number, tender: number, protection: string, terrain: string): Row[] =>
  Array.from({ length: n }, (_, k) => cycle(`${name}${k}`, protection, k < tender ? 1 : 0, terrain)).flat();

describe('protection-audit by hand', () => {
  // Soft: 2 of 4 bare tender, 1 of 4 booted. Firm: 1 of 2 bare, 1 of 6 in pads. Rocky: 3 bare, 1 tender.
  const herd = [
    ...several('V', 4, 2, 'bare', 'soft'),
    ...several('W', 4, 1, 'boot', 'soft'),
    ...several('X', 2, 1, 'bare', 'firm'),
    ...several('Y', 6, 1, 'pad', 'firm'),
    ...several('Z', 3, 1, 'bare', 'rocky'),
  ];

  it('pools the difference and the ratio over like feet, with the jackknife’s error', async () => {
    const engine = await openHerd(herd);
    const result = await runAnalysis(engine, 'protection-audit', { rule: PROTECT_ALL });
    // Weights 4·4/8 = 2 and 2·6/8 = 1.5. Difference: (2 · 1/4 + 1.5 · 1/3) / 3.5 = 2/7.
    const difference = estimateOf(
      result,
      'tender, bare against protected, like with like: difference',
      'protect',
    );
    expect(difference.estimate).toBeCloseTo(200 / 7, 10);
    // Ratio: (2·4/8 + 1·6/8) / (1·4/8 + 1·2/8) = 1.75 / 0.75.
    const ratio = estimateOf(result, 'tender, bare against protected, like with like: ratio', 'protect');
    expect(ratio.estimate).toBeCloseTo(7 / 3, 10);
    // Each of the 16 horses left out: soft bare tender (2 horses) 1/5, not (2) 17/45, boot tender (1) 19/45, not (3) 11/45;
    // firm bare tender (1) 1/8, not (1) 17/40, pad tender (1) 17/48, not (5) 13/48.
    const left = [
      1 / 5,
      1 / 5,
      17 / 45,
      17 / 45,
      19 / 45,
      11 / 45,
      11 / 45,
      11 / 45,
      1 / 8,
      17 / 40,
      17 / 48,
    ].concat(Array.from({ length: 5 }, () => 13 / 48));
    const mean = left.reduce((sum, value) => sum + value, 0) / 16;
    const error = Math.sqrt((15 / 16) * left.reduce((sum, value) => sum + (value - mean) ** 2, 0));
    expect(difference.std_error).toBeCloseTo(100 * error, 10);
    expect(difference).toMatchObject({ n_horses: 16, n_feet: 16, n_cycles: 16, unit: 'points' });
    await expectSound(engine, result);
  });

  it('says where there is no evidence, and gives a group of few horses no figure', async () => {
    const engine = await openHerd(herd);
    const result = await runAnalysis(engine, 'protection-audit', { rule: PROTECT_ALL });
    const [rocky] = rowsWith(result, 'like_feet', { stratum: 'pony, rocky, 12 to 15\u00a0mm' });
    expect(rocky).toMatchObject({
      n_bare: 3,
      tender_bare: 1,
      n_protected: 0,
      evidence: 'no evidence here: all were left bare',
    });
    const [firm] = rowsWith(result, 'like_feet', { stratum: 'pony, firm, 12 to 15\u00a0mm' });
    expect(firm?.evidence).toBe('too few horses: 2 bare, 6 protected');
    expect(rowsOf(tableOf(result, 'strata').table).map(({ stratum }) => stratum)).toEqual([
      'pony, soft, 12 to 15\u00a0mm',
    ]);
    expect(result.findings.map(({ sentence }) => sentence).join(' ')).toContain(
      '1 of 3 groups of like feet, with 3 of 19 trim cycles, hold only bare or only protected feet: there is no evidence there',
    );
  });

  it('counts advice against practice and what each rule would leave bare', async () => {
    const engine = await openHerd([
      ...cycle('A', 'bare', 0, 'soft', { breed_type: 'draft', sole_depth_mm: 16 }),
      ...cycle('B', 'boot', 0, 'soft', { breed_type: 'draft', sole_depth_mm: 16 }),
      ...cycle('C', 'bare', 1, 'soft', { breed_type: 'draft', sole_depth_mm: 14 }),
      ...cycle('D', 'shoe', 0, 'firm'),
      ...cycle('E', 'bare', 0, 'soft', { breed_type: 'draft', sole_depth_mm: null }),
    ]);
    const result = await runAnalysis(engine, 'protection-audit');
    expect(rowsWith(result, 'agreement', { advice: 'may stay bare' })[0]).toMatchObject({
      n_bare: 1,
      n_protected: 1,
      estimate: 50,
    });
    expect(rowsWith(result, 'agreement', { advice: 'protect' })[0]).toMatchObject({
      n_bare: 1,
      n_protected: 1,
    });
    const rules = rowsOf(tableOf(result, 'rules').table);
    expect(
      rules.map(({ rule, n_cycles, n_unknown, n_left_bare, n_tender }) => [
        rule,
        n_cycles,
        n_unknown,
        n_left_bare,
        n_tender,
      ]),
    ).toEqual([
      ['your rule', 2, 1, 1, 0],
      ['protect every foot', 0, 0, 0, 0],
      ['leave every foot bare', 5, 0, 3, 1],
    ]);
    await expectSound(engine, result);
  });

  it('lists each foot at its latest visit, where advice and practice differ first', async () => {
    const today = (id: string, more: Row): Row => ({
      horse_id: id,
      foot: 'LF',
      visit_date: dayAfter(100),
      breed_type: 'draft',
      terrain: 'soft',
      sole_depth_mm: 16,
      sensitivity: 0,
      ...more,
    });
    const engine = await openHerd([
      today('as', { protection: 'bare' }),
      today('as', { protection: 'boot', visit_date: dayAfter(50) }),
      today('thin', { protection: 'bare', sole_depth_mm: 9 }),
      today('kept', { protection: 'pad' }),
      today('gap', { protection: 'bare', sole_depth_mm: null, sensitivity: null }),
      today('what', { protection: null }),
      today('gone', { protection: 'bare', visit_date: dayAfter(-300) }),
    ]);
    const result = await runAnalysis(engine, 'protection-audit');
    const rows = rowsOf(tableOf(result, 'today').table);
    expect(
      rows.map(({ horse, standing, advice, left_in, missing }) => [
        horse,
        standing,
        advice,
        left_in,
        missing,
      ]),
    ).toEqual([
      ['thin', 'protect, but left bare', 'protect', 'bare', null],
      ['kept', 'may stay bare, but left protected', 'may stay bare', 'pad', null],
      ['gap', 'not enough recorded to say', 'not enough recorded to say', 'bare', 'sole depth, tenderness'],
      ['what', 'what it left in is not recorded', 'may stay bare', null, null],
      ['as', 'left as your rule says', 'may stay bare', 'bare', null],
    ]);
    expect(result.findings[0]?.sentence).toBe(
      'Of 5 feet of 5 horses as last seen, 1 was left bare where your rule says protect, and 1 protected where it says a foot may stay bare; of 1 too little is recorded to say. This is what the rule says of the record: the foot in front of you decides.',
    );
    await expectSound(engine, result);
  });

  it('answers no rows, one horse and no protection on record with sentences', async () => {
    for (const rows of [
      [],
      cycle('A', 'bare', 0, 'soft'),
      [
        ...cycle('A', 'bare', 0, 'soft', { protection: null }),
        ...cycle('B', 'bare', 1, 'soft', { protection: null }),
      ],
    ]) {
      const engine = await openHerd(rows);
      const result = await runAnalysis(engine, 'protection-audit');
      await expectSound(engine, result);
      expect(result.findings.map(({ sentence }) => sentence).join(' ')).not.toMatch(
        /more often|higher|lower/,
      );
    }
  });

  it('refuses a rule that it cannot read', async () => {
    const engine = await openHerd([]);
    await expect(runAnalysis(engine, 'protection-audit', { rule: '{"rows":[]}' })).rejects.toThrow(
      'rule otherwise must be bare or protect: missing',
    );
  });
});

describe('risk difference and ratio over strata', () => {
  it('agree with R, by formula and by metafor; a textbook gives 0.035 and 1.33 (from memory)', () => {
    const { exposedEvents, exposedRows, unexposedEvents, unexposedRows, formula, metafor_values } = reference;
    const found = mantelHaenszel(
      exposedEvents.map((events, k) => ({
        exposedEvents: events,
        exposedRows: exposedRows[k]!,
        unexposedEvents: unexposedEvents[k]!,
        unexposedRows: unexposedRows[k]!,
      })),
    );
    if (isUnavailable(found)) throw new Error(found.sentence);
    for (const { RD, logRR } of [formula, metafor_values]) {
      expect(found.riskDifference.estimate).toBeCloseTo(RD[0]!, 10);
      expect(found.riskDifference.stdError).toBeCloseTo(RD[1]!, 10);
      expect(Math.log(found.riskRatio!.estimate)).toBeCloseTo(logRR[0]!, 10);
      expect(found.riskRatio!.stdError! / found.riskRatio!.estimate).toBeCloseTo(logRR[1]!, 10);
    }
    expect(found.riskDifference.estimate).toBeCloseTo(0.035, 3);
    expect(found.riskRatio!.estimate).toBeCloseTo(1.33, 2);
  });
});

describe('protection-audit of herds', () => {
  it('finds in the demo herd that like feet were tender more often when left bare, as it was made', async () => {
    const engine = await openHerdOf(await demoTables());
    const result = await runAnalysis(engine, 'protection-audit');
    await expectSound(engine, result);
    // Every interval and count of a sentence stands in a table.
    const cells = result.tables
      .flatMap(({ table }) => rowsOf(table))
      .map((row) =>
        Object.fromEntries(Object.entries(row).map(([name, value]) => [name, String(value ?? '')])),
      );
    const said = result.findings.map(({ sentence }) => sentence.replaceAll('\u00a0', ' ')).join('\n');
    expect(countIntervals(said)).toBeGreaterThan(6);
    expect(unfoundIntervals(said, cells)).toEqual([]);
    expect(unfoundCounts(said, cells)).toEqual([]);
    // Made with odds of tenderness exp(0.9) = 2.46 times as high when bare (data/truth.json): where few are tender the
    // ratio of shares lies a little nearer to 1.
    const ratio = estimateOf(result, 'tender, bare against protected, like with like: ratio', 'all feet');
    expect(ratio.conf_low).toBeGreaterThan(1.3);
    expect(ratio.conf_low).toBeLessThan(2.46);
    expect(ratio.conf_high).toBeGreaterThan(2);
    // As counted, hardly any difference shows: feet that looked worse were protected.
    const [bare, kept] = ['left bare', 'protected'].map((done) =>
      estimateOf(result, `tender at the next visit, ${done}`, 'all feet'),
    );
    expect(Number(bare!.estimate) / Number(kept!.estimate)).toBeLessThan(Number(ratio.estimate));
    await engine.close();
  });

  it('says of ten horses with a year of visits what it can, and compares no group of few horses', async () => {
    const engine = await openHerdOf(await tenHorses());
    const result = await runAnalysis(engine, 'protection-audit');
    await expectSound(engine, result);
    expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
      'Bare against protected where your rule says a foot may stay bare: there is no such trim cycle.',
    );
    await engine.close();
  });
});
