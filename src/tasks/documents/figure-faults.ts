import type { Document } from './markdown.ts';

/** A figure in a document that comes from a file made by a program, and what it must be by that file. */
export interface Figure {
  readonly document: string;
  /** The words around it; `{}` stands for the figure, several times for several. Line ends count as spaces. */
  readonly says: string;
  /** The figures as they should be written. */
  readonly are: () => string | readonly string[];
}

const NUMBER = '([−–-]?[\\d.,]*\\d)';

/** Figures that differ from their source, and sentences that no longer stand where their figures are watched. */
export function figureFaults(figures: readonly Figure[], documents: readonly Document[]): string[] {
  return figures.flatMap(({ document, says, are }) => {
    const text = documents.find(({ path }) => path === document)?.text.replaceAll(/\s+/g, ' ') ?? '';
    const pattern = says.split('{}').map(escaped).join(NUMBER);
    const found = new RegExp(pattern).exec(text)?.slice(1);
    if (!found) return [`${document} no longer says “${says}”: change the list of figures with it`];
    const right = [are()].flat();
    return found.join(' ') === right.join(' ')
      ? []
      : [`${document}, “${says}”: ${found.join(', ')} should be ${right.join(', ')}`];
  });
}

const escaped = (text: string): string => text.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&');

/** 11846 → `11,846`; with digits after the point, 2.1864 → `2.19`. */
export const written = (value: number, digits = 0): string =>
  value
    .toLocaleString('en-GB', { minimumFractionDigits: digits, maximumFractionDigits: digits })
    .replace('-', '−');
