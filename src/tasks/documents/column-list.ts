import { accepts } from '../../herd/accepts.ts';
import type { ColumnDescription } from '../../herd/column.ts';
import { FOOT_VISIT } from '../../herd/dictionary.ts';

const PER = {
  horse: 'The horse; may stand in a file of horses',
  visit: 'The visit',
  foot: 'The foot at a visit',
} as const;
const SHOWN_HEADERS = 6;

const INTRODUCTION = `# Columns of the record

Written from the data dictionary (\`src/herd/dictionary.ts\`); change it there, then \`npm run documents\`.

Three columns are needed: the horse, the visit date and the foot. All else may be missing. Headers are matched without
regard to case, spaces and signs, with or without a unit (\`Toe (in)\`) and, where a row holds four feet, a foot
(\`LF toe\`, \`toe_lf\`). Of each column's headers the first few are listed. Values outside the limits set the row aside:
the limits are wide, and there to catch slips of the finger and of the unit, not unusual horses (common practice).
`;

/** `docs/columns.md`: every column of the data dictionary. */
export function columnList(): string {
  const parts = (Object.keys(PER) as (keyof typeof PER)[]).map((per) => {
    const rows = FOOT_VISIT.filter((column) => column.per === per).map(rowOf);
    return `## ${PER[per]}\n\n| column | what it holds | accepts | also known as |\n|---|---|---|---|\n${rows.join('\n')}\n`;
  });
  return `${INTRODUCTION}\n${parts.join('\n')}`;
}

function rowOf(column: ColumnDescription): string {
  const { name, label, note, synonyms, required } = column;
  const own = name.replace(/_(mm|deg|kg)$/, '').replaceAll('_', ' ');
  // Words in another order are the same header.
  const bags = synonyms.map((words) => words.split(' ').sort().join(' '));
  const headers = synonyms
    .filter((words, i) => words !== own && bags.indexOf(bags[i] ?? '') === i)
    .slice(0, SHOWN_HEADERS);
  const about = `${label}${required ? ' (needed)' : ''}${note && !accepted(column).includes(note.slice(0, -1)) ? `. ${note}` : ''}`;
  return `| \`${name}\` | ${about} | ${accepted(column)} | ${headers.join(', ')} |`;
}

function accepted(column: ColumnDescription): string {
  const said = accepts(column);
  return column.unit === 'mm' ? `${said} (mm, cm, inches)` : said;
}
