/** Text for comparison: no accents, lower case, words parted by one space. Keeps + and other signs. */
export function plain(text: string): string {
  return text
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[\s_]+/g, ' ')
    .trim();
}

/** As `plain`, and everything but letters and digits counts as a gap. */
export function plainWords(text: string): string {
  return plain(text)
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim();
}
