import type { Part } from './messages.ts';

interface Line {
  tried: number;
  survived: number;
  slowestMs: number;
  readonly counts: Map<string, number>;
}

/** What was tried, how often, and what came of it. */
export class Tally {
  private readonly lines = new Map<string, Line>();

  add(
    part: Part,
    what: string,
    survived: boolean,
    ms = 0,
    counts: Readonly<Record<string, number>> = {},
  ): void {
    const key = `${part}: ${what}`;
    const line = this.lines.get(key) ?? { tried: 0, survived: 0, slowestMs: 0, counts: new Map() };
    this.lines.set(key, line);
    line.tried++;
    if (survived) line.survived++;
    line.slowestMs = Math.max(line.slowestMs, ms);
    for (const [name, value] of Object.entries(counts))
      line.counts.set(name, (line.counts.get(name) ?? 0) + value);
  }

  /** A table in Markdown: files first, each part with its sum above. */
  table(): string {
    const columns = [
      'refused',
      'asked',
      'read',
      'rowsRead',
      'admitted',
      'setAside',
      'lost',
      'answered',
      'sentences',
    ];
    const heads = [
      'refused',
      'left to the user',
      'read',
      'rows read',
      'admitted',
      'set aside',
      'rows lost',
      'answered',
      'in words',
    ];
    const rows = [...this.lines].map(([key, { tried, survived, slowestMs, counts }]) => [
      key,
      String(tried),
      String(survived),
      String(tried - survived),
      ...columns.map((name) => (counts.has(name) ? String(counts.get(name)) : '')),
      (slowestMs / 1000).toFixed(1),
    ]);
    const all = [['what was tried', 'times', 'survived', 'failed', ...heads, 'slowest, s'], ...rows];
    const widths = (all[0] as string[]).map((_, i) =>
      Math.max(...all.map((row) => (row[i] as string).length)),
    );
    const line = (row: readonly string[]): string =>
      `| ${row.map((cell, i) => (i === 0 ? cell.padEnd(widths[i] as number) : cell.padStart(widths[i] as number))).join(' | ')} |`;
    const rule = `|${widths.map((width, i) => (i === 0 ? ':' : '-') + '-'.repeat(width) + (i === 0 ? '-' : ':')).join('|')}|`;
    return [line(all[0] as string[]), rule, ...rows.map(line)].join('\n');
  }

  failed(): number {
    return [...this.lines.values()].reduce((sum, { tried, survived }) => sum + tried - survived, 0);
  }
}
