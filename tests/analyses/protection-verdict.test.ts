import { afterAll, describe, expect, it } from 'vitest';
import {
  adviceSql,
  COMMON_RULE,
  COMMON_RULE_TEXT,
  type FootFacts,
  readRule,
  verdict,
} from '../../src/analyses/protection-audit/verdict.ts';
import { type DecisionTable, decisionText } from '../../src/core/decision-table.ts';
import { rowsOf } from '../../src/core/table.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { literal } from '../../src/engine/sql-text.ts';

const engine = await openNodeEngine();
afterAll(() => engine.close());

/** Draft, soft ground, enough sole, not tender (common practice; 15 mm from a secondary source). */
const ALL_FOUR: FootFacts = {
  breed_type: 'draft',
  terrain: 'soft',
  moisture: 'dry',
  sole_depth_mm: 15,
  sensitivity: 0,
};
const advise = (changed: Partial<FootFacts>, rule: DecisionTable = COMMON_RULE) =>
  verdict(rule, { ...ALL_FOUR, ...changed }).advice;

describe('the common-practice rule', () => {
  it('lets a sole stay bare when all four conditions agree', () => {
    expect(verdict(COMMON_RULE, ALL_FOUR)).toEqual({ advice: 'bare', row: 0 });
    expect(advise({ sole_depth_mm: 22.5, moisture: null })).toBe('bare');
  });

  it.each([
    ['another breed', { breed_type: 'light' }],
    ['mixed ground', { terrain: 'mixed' }],
    ['firm ground', { terrain: 'firm' }],
    ['rocky ground', { terrain: 'rocky' }],
    ['a little less sole', { sole_depth_mm: 14.9 }],
    ['slight tenderness', { sensitivity: 1 }],
    ['severe tenderness', { sensitivity: 3 }],
  ] as const)('says protect once one is broken: %s', (_, broken) => {
    expect(verdict(COMMON_RULE, { ...ALL_FOUR, ...broken })).toEqual({ advice: 'protect', row: null });
  });

  it.each(['breed_type', 'terrain', 'sole_depth_mm', 'sensitivity'] as const)(
    'cannot say when %s is not recorded and the rest agrees, and says protect when the rest does not',
    (name) => {
      expect(advise({ [name]: null })).toBe('unknown');
      const broken = name === 'terrain' ? { sensitivity: 2 } : { terrain: 'rocky' };
      expect(advise({ ...broken, [name]: null })).toBe('protect');
    },
  );
});

const RULES: readonly DecisionTable[] = [
  COMMON_RULE,
  { rows: [], otherwise: 'bare' },
  { rows: [], otherwise: 'protect' },
  // Protect first, then bare: what is not known of the first row keeps the second from saying bare.
  {
    rows: [
      { when: { sensitivity: { at_least: 1 } }, say: 'protect' },
      { when: { sole_depth_mm: { at_least: 12, below: 15 }, terrain: 'soft' }, say: 'bare' },
      { when: { sole_depth_mm: { below: 12 } }, say: 'protect' },
      { when: { moisture: 'wet', breed_type: 'pony' }, say: 'protect' },
    ],
    otherwise: 'bare',
  },
  {
    rows: [
      { when: { terrain: 'rocky' }, say: 'protect' },
      { when: { breed_type: 'draft' }, say: 'bare' },
    ],
    otherwise: 'protect',
  },
];

describe('verdict', () => {
  it('takes the first row that matches', () => {
    const rule = RULES[4]!;
    expect(verdict(rule, { ...ALL_FOUR, terrain: 'rocky' })).toEqual({ advice: 'protect', row: 0 });
    expect(verdict(rule, { ...ALL_FOUR, terrain: 'firm' })).toEqual({ advice: 'bare', row: 1 });
    expect(verdict(rule, { ...ALL_FOUR, terrain: null })).toEqual({ advice: 'unknown', row: null });
    // Whatever the ground, a pony is protected.
    expect(verdict(rule, { ...ALL_FOUR, breed_type: 'pony', terrain: null })).toEqual({
      advice: 'protect',
      row: null,
    });
  });

  it('never says bare by rows that hang on what is not known, though both would', () => {
    const either: DecisionTable = {
      rows: [
        { when: { sole_depth_mm: { at_least: 12 } }, say: 'bare' },
        { when: { sole_depth_mm: { below: 12 } }, say: 'bare' },
      ],
      otherwise: 'bare',
    };
    expect(advise({ sole_depth_mm: null }, either)).toBe('unknown');
    expect(advise({ sole_depth_mm: 11 }, either)).toBe('bare');
  });

  it('says the same in SQL, over every combination of values and gaps', async () => {
    const values = {
      breed_type: ['draft', 'pony', null],
      terrain: ['soft', 'rocky', null],
      moisture: ['dry', 'wet', null],
      sole_depth_mm: [11.9, 12, 15, null],
      sensitivity: [0, 1, 3, null],
    };
    const type = (name: string) =>
      name === 'sole_depth_mm' || name === 'sensitivity' ? 'DOUBLE' : 'VARCHAR';
    const from = Object.entries(values).map(
      ([name, each]) =>
        `(SELECT ${name} FROM (VALUES ${each.map((v) => `(${literal(v)}::${type(name)})`).join(', ')}) v(${name})) ${name}_of`,
    );
    const said = RULES.map((rule, k) => `${adviceSql(rule)} AS rule_${k}`).join(', ');
    const table = await engine.query(`SELECT *, ${said} FROM ${from.join(' CROSS JOIN ')} ORDER BY ALL`);
    expect(table.rowCount).toBe(3 * 3 * 3 * 4 * 4);
    const seen = new Set<unknown>();
    for (const row of rowsOf(table)) {
      for (const [k, rule] of RULES.entries()) {
        const { advice } = verdict(rule, row as unknown as FootFacts);
        expect(row[`rule_${k}`], `rule ${k}: ${JSON.stringify(row)}`).toBe(advice);
        seen.add(advice);
      }
    }
    expect(seen).toEqual(new Set(['bare', 'protect', 'unknown']));
  });
});

describe('readRule', () => {
  it('reads what it wrote', () => {
    for (const rule of RULES) expect(readRule(decisionText(rule))).toEqual(rule);
  });

  it.each([
    ['bare', /rule must be a decision table written as JSON: bare/],
    ['{"rows":[],"otherwise":"perhaps"}', /otherwise must be bare or protect: perhaps/],
    [
      COMMON_RULE_TEXT.replace('15', '"thick"'),
      /row 1, sole depth must be at least or below a number from 0 to 60 mm: \{"at_least":"thick"\}/,
    ],
    [COMMON_RULE_TEXT.replace('"draft"', '"zebra"'), /row 1, breed type must be one of draft, .*: zebra/],
    [COMMON_RULE_TEXT.replace('terrain', 'colour'), /row 1 has no column colour: there are breed_type, /],
    [COMMON_RULE_TEXT.replace('"at_least":15', '"at_least":15,"below":12'), /row 1, sole depth must be/],
  ])('names row, column and what is accepted: %s', (text, message) => {
    expect(() => readRule(text)).toThrow(message);
  });
});
