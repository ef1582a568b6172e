import { cellAt } from '../core/table.ts';
import { type ChoiceBody, type ChoiceOption, startingValue } from './entry-schemas.ts';
import type { EntryResult } from './entry-state.ts';
import type { ChoiceValue } from './page-executor.ts';
import { rulesValue } from './rules-choice.ts';
import { tableView } from './table-view.ts';

type ChoiceResult = Extract<EntryResult, { kind: 'choice' }>;

function optionsOf(body: ChoiceBody, results: ReadonlyMap<string, EntryResult>): ChoiceOption[] {
  if (body.kind !== 'list') return [];
  const { options, also } = body;
  if (Array.isArray(options)) return [...also, ...options];
  const { table } = tableView(options.of, results.get(options.of.split('.')[0]!) ?? null);
  const read = new Map<ChoiceValue, string>();
  for (let row = 0; row < table.rowCount; row += 1) {
    const value = cellAt(table, options.value, row);
    if (typeof value !== 'string' && typeof value !== 'number') continue;
    const label = options.label ? cellAt(table, options.label, row) : value;
    if (!read.has(value)) read.set(value, String(label ?? value));
  }
  return [...also, ...Array.from(read, ([value, label]) => ({ value, label }))];
}

/**
 * The value of a choice: the user's where it still can be chosen, else the page's default, else the first option.
 * Throws when there is nothing to choose from.
 */
export function choiceResult(
  body: ChoiceBody,
  wanted: ChoiceValue | undefined,
  results: ReadonlyMap<string, EntryResult>,
): ChoiceResult {
  const options = optionsOf(body, results);
  if (body.kind === 'rules') return { kind: 'choice', value: rulesValue(body, wanted), options };
  if (body.kind !== 'list') {
    return { kind: 'choice', value: wanted ?? startingValue(body), options };
  }
  const first = options[0];
  if (!first) throw new Error(`There is nothing to choose from: ${body.label} has no options here.`);
  const can = (value: ChoiceValue | null | undefined) => options.some((each) => each.value === value);
  const starting = startingValue(body);
  const value = can(wanted) ? wanted! : can(starting) ? starting! : first.value;
  return { kind: 'choice', value, options };
}
