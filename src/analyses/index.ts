import type { Analysis } from './analysis.ts';
import { caseTrends } from './case-trends/index.ts';
import { caseload } from './caseload/index.ts';
import { clientAudit } from './client-audit/index.ts';
import { drift } from './drift/index.ts';
import { entryPoints } from './entry-points/index.ts';
import { growOut } from './grow-out/index.ts';
import { growth } from './growth/index.ts';
import { intervalEffect } from './interval-effect/index.ts';
import { intervalPlan } from './interval-plan/index.ts';
import { measurement } from './measurement/index.ts';
import { oneHorse } from './one-horse/index.ts';
import { onsetClearing } from './onset-clearing/index.ts';
import { prevalence } from './prevalence/index.ts';
import { protectionAudit } from './protection-audit/index.ts';
import { recurrence } from './recurrence/index.ts';
import { reliefAudit } from './relief-audit/index.ts';
import { spells } from './spells/index.ts';
import { wear } from './wear/index.ts';
import { worded } from './worded.ts';

// biome-ignore lint/suspicious/noExplicitAny: options differ by analysis and are checked by each one's schema
type AnyAnalysis = Analysis<any>;

/** Every analysis a page or the batch command can ask for, by name. */
export const ANALYSES: readonly AnyAnalysis[] = (
  [
    growth,
    wear,
    drift,
    spells,
    recurrence,
    onsetClearing,
    intervalEffect,
    prevalence,
    intervalPlan,
    reliefAudit,
    entryPoints,
    protectionAudit,
    oneHorse,
    caseload,
    growOut,
    clientAudit,
    caseTrends,
    measurement,
  ] as readonly AnyAnalysis[]
).map(worded);

export function analysisNamed(name: string): AnyAnalysis {
  const found = ANALYSES.find((analysis) => analysis.name === name);
  if (!found) {
    throw new Error(`there is no analysis ${name}: use one of ${ANALYSES.map((a) => a.name).join(', ')}`);
  }
  return found;
}
