import { z } from 'zod';

// Before a schema is made: zod otherwise probes for `Function`, which a strict content policy reports as a violation.
z.config({ jitless: true });

/** An object that says which keys it accepts when it meets another one. */
export function strictObject<Shape extends z.core.$ZodLooseShape>(shape: Shape) {
  return z.strictObject(shape, {
    error: (issue) =>
      issue.code === 'unrecognized_keys'
        ? `does not know ${(issue.keys as string[]).join(', ')}: it accepts ${Object.keys(shape).join(', ')}`
        : undefined,
  });
}
