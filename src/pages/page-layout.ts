import type { Block, Page } from './page.ts';

/** Blocks with neighbouring choices put together, so that they stand in one row. */
export function groupsOf(blocks: readonly Block[]): Block[][] {
  const isChoice = (block: Block | undefined) => block?.type === 'entry' && block.entry.kind === 'choice';
  const grouped: Block[][] = [];
  for (const block of blocks) {
    const last = grouped.at(-1);
    if (last && isChoice(block) && isChoice(last.at(-1))) last.push(block);
    else grouped.push([block]);
  }
  return grouped;
}

/** A page whose sections stand side by side: what comes before the first heading, the sections, what comes after a rule. */
interface Board {
  readonly lead: readonly Block[][];
  readonly sections: readonly (readonly Block[][])[];
  readonly after: readonly Block[][];
}

export function boardOf(groups: readonly Block[][]): Board {
  const opensWith = (group: Block[], mark: RegExp) =>
    group[0]?.type === 'text' && mark.test(group[0].markdown.trimStart());
  const rule = groups.findIndex((group) => opensWith(group, /^(-{3,}|\*{3,}|_{3,})[ \t]*(\n|$)/));
  const end = rule < 0 ? groups.length : rule;
  const lead: Block[][] = [];
  const sections: Block[][][] = [];
  for (const group of groups.slice(0, end)) {
    if (opensWith(group, /^## /)) sections.push([group]);
    else (sections.at(-1) ?? lead).push(group);
  }
  return { lead, sections, after: groups.slice(end) };
}

/** Whether a group goes on paper: everything, unless the page names what does. */
export function isPrinted(group: readonly Block[], { front }: Page): boolean {
  if (front.print.length === 0) return true;
  return group.some((block) => block.type === 'entry' && front.print.includes(block.entry.name));
}
