/** No word or phrase of the record is nearly as long: what follows makes no difference to a comparison with one. */
const LONGEST_COMPARED = 500;

/** The start of a text for comparison: no accents, lower case, words parted by one space. Keeps + and other signs. */
export function plain(text: string): string {
  return text
    .slice(0, LONGEST_COMPARED)
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
