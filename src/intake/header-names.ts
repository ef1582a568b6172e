import { IntakeRefusal } from './refusal.ts';

/** Many times what a record of visits has. A wrong separator can make millions, each of which takes room. */
const MOST_COLUMNS = 20_000;
const LONGEST_NAME = 200;

/** Throws `IntakeRefusal` where a first line has more cells than any record of visits. */
export function refuseTooWide(file: string, cells: readonly unknown[]): void {
  if (cells.length <= MOST_COLUMNS) return;
  const sentence = `${file} has ${cells.length} columns, and ${MOST_COLUMNS} are as many as are read; export only those that tell of visits.`;
  throw new IntakeRefusal(file, 'too-many-columns', sentence);
}

/** Names as they stand, very long ones cut; nameless columns get one. Throws `IntakeRefusal` where two are the same. */
export function headerNames(file: string, cells: readonly string[]): string[] {
  const seen = new Map<string, number>();
  return cells.map((cell, i) => {
    const whole = cell.trim().replace(/\s+/g, ' ');
    const name = whole.length > LONGEST_NAME ? `${whole.slice(0, LONGEST_NAME)}…` : whole;
    if (name === '') return `(column ${i + 1}, no name)`;
    const earlier = seen.get(name.toLowerCase());
    if (earlier !== undefined) {
      throw new IntakeRefusal(
        file,
        'same-name-columns',
        `${file} has two columns named “${name}” (columns ${earlier + 1} and ${i + 1}); rename one of them.`,
      );
    }
    seen.set(name.toLowerCase(), i);
    return name;
  });
}
