import { describe, expect, it } from 'vitest';
import { BREED_TABLE, breedTypeOf } from '../../src/herd/breed-table.ts';

describe('breedTypeOf', () => {
  it.each([
    ['Clydesdale', 'draft'],
    ['  SHIRE ', 'draft'],
    ['Selle Français', 'warmblood'],
    ['welsh section-C', 'pony'],
    ['Akhal-Teke', 'light'],
    ['Miniature donkey', 'donkey'],
    ['Shire x', 'draft'],
    ['Shire × Clydesdale', 'draft'],
    ['TB x Arab', 'light'],
    ['Dutch warmblood mare', 'warmblood'],
  ])('%s is %s', (breed, type) => {
    expect(breedTypeOf(breed)).toBe(type);
  });

  it.each(['', 'heinz', 'TB x Clydesdale', 'Shire x something', 'unknown', 'cross'])(
    'leaves %j without a type, as its parts are unknown or disagree',
    (breed) => {
      expect(breedTypeOf(breed)).toBeNull();
    },
  );

  it('holds about eighty breeds or more, none under two types', () => {
    const breeds = Object.values(BREED_TABLE).flat();
    expect(breeds.length).toBeGreaterThanOrEqual(80);
    expect(new Set(breeds).size).toBe(breeds.length);
  });
});
