import { IntakeRefusal } from './refusal.ts';

/** Names as they stand; nameless columns get one. Throws `IntakeRefusal` where two are the same. */
export function headerNames(file: string, cells: readonly string[]): string[] {
  const seen = new Map<string, number>();
  return cells.map((cell, i) => {
    const name = cell.trim().replace(/\s+/g, ' ');
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
