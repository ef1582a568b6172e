const texts = import.meta.glob<string>('../../docs/methods/*.md', {
  query: '?raw',
  import: 'default',
  eager: true,
});

/** The text of a method that comes with the program, by its name (`docs/methods/growth.md`); null where there is none. */
export function methodText(doc: string): string | null {
  return texts[`../../${doc}`] ?? null;
}
