import { CAUTIONS } from '../analyses/cautions.ts';
import type { IntakeReport } from '../intake/report.ts';
import type { Ran } from './write-results.ts';

/** `findings.md`: the books of the intake, every sentence with its caution, what could not be answered. */
export function findingsText(ran: readonly Ran[], report: IntakeReport): string {
  const lines = ['# Findings', '', CAUTIONS.record, '', CAUTIONS.call_vet, '', '## Rows', ''];
  lines.push(
    `${report.rowsRead} rows read = ${report.admitted} admitted + ${report.setAside} set aside.`,
    '',
  );
  for (const file of report.files) {
    lines.push(
      `- ${file.file} (${file.kind}): ${file.rowsRead} read, ${file.admitted} admitted, ${file.setAside} set aside`,
    );
  }
  for (const notice of report.notices) lines.push(`- ${notice}`);
  for (const { planned, result } of ran) {
    lines.push('', `## ${planned.title}`, '');
    for (const { sentence, caution } of result.findings) {
      lines.push(`- ${sentence}${caution ? ` *${caution}*` : ''}`);
    }
    for (const { sentence } of result.unavailable) lines.push(`- Not answered: ${sentence}`);
    lines.push('', `Method: ${result.method.name} (${result.method.source}).`);
  }
  return `${lines.join('\n')}\n`;
}
