import type { DecisionTable } from '../../core/decision-table.ts';
import { unavailable } from '../../core/outcome.ts';
import type { Analysis, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { pacer } from '../pacing.ts';
import type { ProtectionAnswer } from './answer.ts';
import { agreements, likeFeet, pooled, tenderShares } from './compare.ts';
import { type Coverage, coverageOf, coverageTable } from './coverage.ts';
import { gatherProtection, partAsks, recordedParts, stratumSql } from './data.ts';
import { alikeWords, protectionFindings, protectionRefusals } from './findings.ts';
import { lastSeen } from './last-seen.ts';
import { latestTable, standingTable } from './latest.ts';
import { optionsSchema, type ProtectionOptions } from './options.ts';
import { ruleSums } from './rules.ts';
import {
  agreementTable,
  likeFeetTable,
  protectionEstimates,
  rulesTable,
  strataTable,
  tenderTable,
} from './tables.ts';
import { adviceSql, readRule } from './verdict.ts';

/** A rule for leaving soles bare against what was done, and whether the foot was tender at the next visit. */
export const protectionAudit: Analysis<ProtectionOptions> = {
  name: 'protection-audit',
  title: 'Sole protection',
  question: 'Does my rule for leaving a sole bare hold, and where was it not kept?',
  options: optionsSchema,
  async run(asked, context) {
    const { lengths, signal, progress } = context;
    const rule: DecisionTable = readRule(asked.rule);
    const kept = await recordedParts(context, asked, lengths);
    const options = { ...asked, alike_by: kept };
    const [advice, stratum] = [adviceSql(rule), stratumSql(options, lengths)];
    progress(0.1, 'Asking the rule of every trim cycle');
    const rows = await gatherProtection(context, rule, kept, partAsks(options, lengths));
    const pause = pacer(signal, 0);
    await pause();
    progress(0.4, 'Counting what was done');
    const counted = { agreements: agreements(rows), tender: tenderShares(rows) };
    await pause();
    progress(0.6, 'Setting like feet side by side');
    const compared = { likeFeet: likeFeet(rows), pooled: pooled(rows) };
    await pause();
    progress(0.8, 'Setting rules side by side');
    const answer: ProtectionAnswer = {
      options,
      rule,
      advice,
      stratum,
      ...counted,
      ...compared,
      rules: await ruleSums(context, rule, rows),
      latest: await lastSeen(context, rule, options.latest_days),
    };
    const dropped = asked.alike_by.filter((each) => !kept.includes(each));
    return present(answer, coverageOf(rows, advice, stratum), dropped);
  },
};

function present(
  answer: ProtectionAnswer,
  coverage: Coverage,
  dropped: ProtectionOptions['alike_by'],
): AnalysisResult {
  return {
    analysis: 'protection-audit',
    tables: [
      protectionEstimates(answer),
      agreementTable(answer),
      tenderTable(answer),
      strataTable(answer),
      likeFeetTable(answer),
      rulesTable(answer, coverage.audited.counts.cycles),
      latestTable(answer.latest),
      standingTable(answer.latest),
      coverageTable(coverage),
    ],
    findings: protectionFindings(answer, coverage),
    unavailable: [
      ...(dropped.length > 0
        ? [
            unavailable(
              'no-rows',
              `${alikeWords(dropped)} is not recorded in these trim cycles, so feet are not told apart by it.`,
            ),
          ]
        : []),
      ...protectionRefusals(answer),
    ],
    assumes: [
      'Rows of the rule are tried in order and the first that matches decides; where a row hangs on something not recorded, a foot is never said to stay bare.',
      'Ground and moisture of a trim cycle are those recorded at the visit that ends it: what the foot then stood on.',
      'Boot, cast, pad and shoe count alike as protected, and as worn until the next visit.',
      'Feet of one group are taken to be alike but for protection; what is not recorded may still differ, since the choice was made at the foot.',
      'Horses are independent; the feet and trim cycles of one horse are not, and intervals allow for it.',
    ],
    cautions: [CAUTIONS.foot_first, CAUTIONS.call_vet, CAUTIONS.record, CAUTIONS.own_scale],
    method: {
      name: 'Risk difference and ratio within groups of like feet, pooled after Mantel and Haenszel, each horse left out in turn',
      source:
        'Mantel & Haenszel 1959, J Natl Cancer Inst 22:719–748; Greenland & Robins 1985, Biometrics 41:55–68; Efron & Stein 1981, Ann Stat 9:586–596',
      doc: 'docs/methods/protection-audit.md',
    },
    counts: coverage.audited.counts,
  };
}
