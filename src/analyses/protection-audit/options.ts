import { z } from 'zod';
import { COMMON_RULE_TEXT } from './verdict.ts';

/** By what feet are called alike. */
const ALIKE_BY = ['breed_type', 'terrain', 'moisture', 'sole', 'tender'] as const;
export type AlikeBy = (typeof ALIKE_BY)[number];

export const optionsSchema = z.strictObject({
  /** The decision table as JSON text, as a choice of kind `rules` gives it. */
  rule: z.string().default(COMMON_RULE_TEXT),
  alike_by: z.array(z.enum(ALIKE_BY)).max(5).default(['breed_type', 'terrain', 'sole', 'tender']),
  /** Where one class of sole depth ends and the next begins, mm. */
  sole_classes_mm: z.array(z.number().min(1).max(60)).min(1).max(4).default([12, 15]),
  /** Feet last seen longer ago, counted from the last visit on record, are not on the list of advice. */
  latest_days: z.number().int().min(1).max(3650).default(180),
});
export type ProtectionOptions = z.output<typeof optionsSchema>;
