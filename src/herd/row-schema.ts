import { z } from 'zod';
import type { ColumnDescription } from './column.ts';
import { FOOT_VISIT, type FootVisitColumn } from './dictionary.ts';
import type { BreedType, Foot } from './vocabularies.ts';

// zod otherwise probes for `Function`, which a strict content policy reports as a violation.
z.config({ jitless: true });

type Valued<C extends FootVisitColumn> = C['name'] extends 'foot'
  ? Foot
  : C['name'] extends 'breed_type'
    ? BreedType
    : C['kind'] extends 'text' | 'level'
      ? string
      : C['kind'] extends 'boolean'
        ? boolean
        : number;
type Cell<C extends FootVisitColumn> = C['required'] extends true ? Valued<C> : Valued<C> | null;

/** One foot at one visit, by SQL names; days since 1970-01-01, mm, degrees, kg; null where nothing was recorded. */
type FootVisit = { [C in FootVisitColumn as C['name']]: Cell<C> };

/** What one present cell of a column must satisfy once parsed (lengths in mm, days as numbers). */
export function cellSchema(c: ColumnDescription): z.ZodType {
  switch (c.kind) {
    case 'text':
      return z.string().min(1);
    case 'level':
      return z.enum((c.levels ?? []) as [string, ...string[]]);
    case 'boolean':
      return z.boolean();
    case 'day':
      return z.number().int();
    case 'grade':
    case 'year':
      return z
        .number()
        .int()
        .min(c.low ?? -Infinity)
        .max(c.high ?? Infinity);
    default:
      return z
        .number()
        .min(c.low ?? -Infinity)
        .max(c.high ?? Infinity);
  }
}

function rowShape(columns: readonly ColumnDescription[]): Record<string, z.ZodType> {
  return Object.fromEntries(
    columns.map((c) => [c.name, c.required ? cellSchema(c) : cellSchema(c).nullable()]),
  );
}

/** A whole foot row. */
export const footVisitSchema = z.object(rowShape(FOOT_VISIT)) as unknown as z.ZodType<FootVisit>;
