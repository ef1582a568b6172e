import { type Outcome, PARTS, type Part } from './messages.ts';

interface Line {
  tried: number;
  survived: number;
  slowestMs: number;
  readonly counts: Record<string, number>;
}

const PART_NAMES: Readonly<Record<Part, string>> = {
  files: 'BAD FILES offered to intake',
  herds: 'ODD HERDS asked every question',
  faults: 'FAULTS in the browser, in the middle of something',
  kills: 'TABS KILLED between two changes',
};

/** What was tried, how often, and what came of it: each part with its sum above. */
export function tallied(outcomes: readonly Outcome[]): Map<string, Line> {
  const lines = new Map<string, Line>();
  for (const part of PARTS) {
    const of = outcomes.filter((outcome) => outcome.part === part);
    const kinds = [...new Set(of.flatMap((outcome) => outcome.kinds))].sort();
    if (of.length > 0) lines.set(PART_NAMES[part], lineOf(of));
    for (const kind of kinds)
      lines.set(`${part}: ${kind}`, lineOf(of.filter((one) => one.kinds.includes(kind))));
  }
  return lines;
}

function lineOf(outcomes: readonly Outcome[]): Line {
  const line: Line = { tried: outcomes.length, survived: 0, slowestMs: 0, counts: {} };
  for (const { faults, ms, counts } of outcomes) {
    if (faults.length === 0) line.survived++;
    line.slowestMs = Math.max(line.slowestMs, ms);
    for (const [name, value] of Object.entries(counts)) line.counts[name] = (line.counts[name] ?? 0) + value;
  }
  return line;
}

const counted = (n: number): string => n.toLocaleString('en-US');

/** What came of the cases of a line, in words. */
function cameOf({ counts }: Line): string {
  const { refused, asked, rowsRead, admitted, setAside, answered, sentences, confirmed } = counts;
  const told = [
    refused ? `${counted(refused)} refused in a sentence` : '',
    asked ? `${counted(asked)} left to the user` : '',
    counts.read ? `${counted(counts.read)} read` : '',
    rowsRead
      ? `${counted(rowsRead)} rows = ${counted(admitted ?? 0)} admitted + ${counted(setAside ?? 0)} set aside`
      : '',
    answered !== undefined
      ? `${counted(answered)} answers with a number, ${counted(sentences ?? 0)} in words`
      : '',
    confirmed !== undefined
      ? `${counted(confirmed)} ${confirmed === 1 ? 'change' : 'changes'} confirmed before, all there after`
      : '',
  ];
  return told.filter((words) => words !== '').join(', ');
}

/** The table in Markdown. */
export function tableOf(outcomes: readonly Outcome[]): string {
  const rows = [...tallied(outcomes)].map(([name, line]) => [
    name,
    counted(line.tried),
    counted(line.survived),
    counted(line.tried - line.survived),
    line.counts.lost === undefined ? '' : counted(line.counts.lost),
    (line.slowestMs / 1000).toFixed(1),
    cameOf(line),
  ]);
  const all = [
    ['what was tried', 'times', 'survived', 'failed', 'lost', 'slowest, s', 'what came of it'],
    ...rows,
  ];
  const last = (all[0] as string[]).length - 1;
  const widths = (all[0] as string[]).map((_, i) => Math.max(...all.map((row) => (row[i] as string).length)));
  const isText = (i: number): boolean => i === 0 || i === last;
  const line = (row: readonly string[]): string =>
    `| ${row.map((cell, i) => (isText(i) ? cell.padEnd(widths[i] as number) : cell.padStart(widths[i] as number))).join(' | ')} |`;
  const rule = `|${widths.map((width, i) => (isText(i) ? `:-${'-'.repeat(width)}` : `-${'-'.repeat(width)}:`)).join('|')}|`;
  return [line(all[0] as string[]), rule, ...rows.map(line)].join('\n');
}

export function failed(outcomes: readonly Outcome[]): number {
  return outcomes.filter(({ faults }) => faults.length > 0).length;
}
