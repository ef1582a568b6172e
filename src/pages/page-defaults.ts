import { isMap, isSeq, parseDocument } from 'yaml';
import { type ChoiceBody, startingValue } from './entry-schemas.ts';
import type { ChoiceValue } from './page-executor.ts';
import { parsePage } from './parse-page.ts';

/**
 * The page with what was chosen on it written in as what it starts with, rules included; all else stays as it was written.
 * A choice that is read from a query is left alone: its values come from the records, and a page's file holds none of them.
 */
export function withDefaults(text: string, values: Readonly<Record<string, ChoiceValue>>): string {
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\r|\n/);
  for (const entry of parsePage(text).entries.toReversed()) {
    const value = values[entry.name];
    if (entry.kind !== 'choice' || value === undefined) continue;
    const source = entry.source.replace(/\n$/, '');
    const length = source.split('\n').length;
    // A fence that is set in would lose its place.
    if (lines.slice(entry.line, entry.line + length).join('\n') !== source) continue;
    const written = bodyStartingWith(entry.source, entry.body, value);
    if (written !== null) lines.splice(entry.line, length, ...written.trimEnd().split('\n'));
  }
  return lines.join('\n');
}

/** The YAML of a choice that starts with this value; null where it does so already, or cannot. */
function bodyStartingWith(source: string, body: ChoiceBody, value: ChoiceValue): string | null {
  if (startingValue(body) === value || (body.kind === 'list' && !Array.isArray(body.options))) return null;
  const document = parseDocument(source);
  if (body.kind === 'rules') {
    const { rows, otherwise } = JSON.parse(String(value)) as { rows: unknown[]; otherwise: string };
    const sequence = document.createNode(rows);
    if (isSeq(sequence)) for (const row of sequence.items) if (isMap(row)) row.flow = true;
    document.set('rows', sequence);
    document.set('otherwise', otherwise);
  } else document.set('default', value);
  return document.toString({ lineWidth: 110 });
}
