import { cellAt, type Table } from '../core/table.ts';
import type { EntryResult } from './entry-state.ts';
import type { QuestionBody, QuestionResult, SamplesBody, SamplesResult, Worked } from './question-schema.ts';
import { tableView } from './table-view.ts';

type Results = ReadonlyMap<string, EntryResult>;

function tableOf(of: string, results: Results): Table {
  return tableView(of, results.get(of.split('.')[0]!.toLowerCase()) ?? null).table;
}

function openHerd(of: string, results: Results): string | null {
  const table = tableOf(of, results);
  if (table.rowCount === 0 || !('herd' in table.columns)) return null;
  const herd = cellAt(table, 'herd', 0);
  return herd === null ? null : String(herd);
}

function worked({ of, where, words }: QuestionBody['naive'], results: Results): Worked {
  const table = tableOf(of, results);
  const row = Array.from({ length: table.rowCount }, (_, at) => at).find((at) =>
    Object.entries(where).every(
      ([name, value]) => name in table.columns && cellAt(table, name, at) === value,
    ),
  );
  const number = (name: string): number | null => {
    const value = row !== undefined && name in table.columns ? cellAt(table, name, row) : null;
    return typeof value === 'number' ? value : null;
  };
  return {
    words,
    estimate: number('estimate'),
    low: number('conf_low'),
    high: number('conf_high'),
    horses: number('n_horses'),
    cycles: number('n_cycles'),
  };
}

export function questionResult(body: QuestionBody, results: Results): QuestionResult {
  const herd = openHerd(body.herd, results);
  return {
    kind: 'question',
    herd: herd !== null && herd in body.answers ? herd : null,
    naive: worked(body.naive, results),
    right: worked(body.right, results),
  };
}

export function samplesResult(body: SamplesBody, results: Results): SamplesResult {
  const herd = openHerd(body.of, results);
  return { kind: 'samples', herd: body.herds.some((each) => each.herd === herd) ? herd : null };
}
