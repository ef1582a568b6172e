/** Rough width of a text in px at 12 px: no fonts are measured, so a drawing is the same everywhere. */
export function textWidth(text: string, size = 12): number {
  let em = 0;
  for (const letter of text) {
    if (/[ilj.,:;'|!()[\]]/.test(letter)) em += 0.3;
    else if (/[mwMW@%]/.test(letter)) em += 0.88;
    else if (/[A-Z]/.test(letter)) em += 0.68;
    else em += 0.56;
  }
  return em * size;
}

/** Words in lines that fit a width in px, at a size in px; a word that is wider stands alone. */
export function wrapped(text: string, width: number, size = 12): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/).filter(Boolean)) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line !== '' && textWidth(longer, size) > width) {
      lines.push(line);
      line = word;
    } else line = longer;
  }
  return line === '' ? lines : [...lines, line];
}

/** The text, cut with an ellipsis where it would be wider. */
export function fitText(text: string, width: number, size = 12): string {
  if (textWidth(text, size) <= width) return text;
  let cut = text;
  while (cut.length > 1 && textWidth(`${cut}…`, size) > width) cut = cut.slice(0, -1);
  return `${cut.trimEnd()}…`;
}
