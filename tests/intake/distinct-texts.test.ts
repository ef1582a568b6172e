import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DistinctTexts, textBytes } from '../../src/intake/distinct-texts.ts';

const encoder = new TextEncoder();

describe('texts known by their bytes', () => {
  it('are each found by the code they were given, wherever among other bytes they stand', () => {
    const few = fc.string({ unit: fc.constantFrom('\u0000', 'a', 'b', 'é'), maxLength: 12 });
    fc.assert(
      fc.property(fc.array(few, { maxLength: 400 }), (words) => {
        const texts = new DistinctTexts();
        const known = new Map<string, number>();
        // Without a byte after the last word, as at the end of a file.
        const all = words.map((word) => encoder.encode(word));
        const text = textBytes(Uint8Array.from(all.flatMap((bytes) => [...bytes])));
        let from = 0;
        all.forEach((bytes, k) => {
          const word = words[k] as string;
          expect(texts.find(text, from, bytes.length)).toBe(known.get(word) ?? -1);
          if (!known.has(word)) {
            texts.add(text, from, bytes.length, known.size);
            known.set(word, known.size);
          }
          from += bytes.length;
        });
      }),
    );
  });
});
