import { describe, expect, it } from 'vitest';
import { FOOT_VISIT_DDL } from '../../src/herd/ddl.ts';
import { columnOf, FOOT_VISIT, storedAs } from '../../src/herd/dictionary.ts';
import { plainWords } from '../../src/herd/plain.ts';
import { footVisitSchema } from '../../src/herd/row-schema.ts';
import { FEET, FOOT_WORDS } from '../../src/herd/vocabularies.ts';

describe('the data dictionary', () => {
  it('requires a horse, a day and a foot, and nothing else', () => {
    expect(FOOT_VISIT.filter((c) => c.required).map((c) => c.name)).toEqual([
      'horse_id',
      'visit_date',
      'foot',
    ]);
  });

  it('names the unit in every measure', () => {
    for (const c of FOOT_VISIT) {
      if (c.unit !== null) expect(c.name.endsWith(`_${c.unit}`), c.name).toBe(true);
      if (c.unit !== null || c.kind === 'grade') expect(c.low, c.name).toBeLessThan(c.high as number);
    }
  });

  it('gives no header to two columns', () => {
    const owners = new Map<string, string>();
    for (const c of FOOT_VISIT) {
      for (const synonym of c.synonyms) {
        expect(owners.get(synonym) ?? c.name, synonym).toBe(c.name);
        expect(synonym).toBe(plainWords(synonym));
        owners.set(synonym, c.name);
      }
    }
  });

  it('gives no everyday word to two levels of one column', () => {
    for (const c of FOOT_VISIT) {
      const owners = new Map<string, string>();
      for (const [level, words] of Object.entries(c.words ?? {})) {
        expect(c.levels).toContain(level);
        for (const word of words) {
          expect(owners.get(word) ?? level, `${c.name}: ${word}`).toBe(level);
          owners.set(word, level);
        }
      }
    }
  });

  it('knows the four feet by the words of the trade', () => {
    expect(FOOT_WORDS.LF).toEqual(expect.arrayContaining(['near fore', 'left front', 'fl', 'lf', 'nf']));
    expect(FOOT_WORDS.RF).toEqual(expect.arrayContaining(['off fore', 'right front', 'fr', 'rf', 'of']));
    expect(FOOT_WORDS.LH).toEqual(expect.arrayContaining(['near hind', 'left back', 'hl', 'lh', 'nh']));
    expect(FOOT_WORDS.RH).toEqual(expect.arrayContaining(['off hind', 'right back', 'hr', 'rh', 'oh']));
    const all = FEET.flatMap((foot) => FOOT_WORDS[foot]);
    expect(new Set(all).size).toBe(all.length);
  });

  it('declares every column once in SQL, the required ones not null', () => {
    for (const c of FOOT_VISIT) {
      const type = { number: '(DOUBLE|INTEGER)', day: 'DATE', boolean: 'BOOLEAN', text: 'VARCHAR' }[
        storedAs(c)
      ];
      const line = new RegExp(`^  ${c.name} ${type}${c.required ? ' NOT NULL' : ''},$`, 'gm');
      expect(FOOT_VISIT_DDL.match(line), c.name).toHaveLength(1);
    }
  });

  it('checks a row as a whole', () => {
    const blank = Object.fromEntries(FOOT_VISIT.map((c) => [c.name, null]));
    const row = { ...blank, horse_id: 'H1', visit_date: 20_000, foot: 'LF' };
    expect(footVisitSchema.safeParse(row).success).toBe(true);
    expect(footVisitSchema.safeParse({ ...row, toe_before_mm: 850 }).success).toBe(false);
    expect(footVisitSchema.safeParse({ ...row, foot: 'XF' }).success).toBe(false);
    expect(footVisitSchema.safeParse({ ...row, horse_id: null }).success).toBe(false);
    expect(footVisitSchema.safeParse({ ...row, crack_grade: 1.5 }).success).toBe(false);
  });

  it('rejects an unknown column name as bad code', () => {
    expect(() => columnOf('toe')).toThrow(/no column of this name: toe/);
  });
});
