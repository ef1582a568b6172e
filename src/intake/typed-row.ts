import { type CivilDay, isoFromDay } from '../core/civil-day.ts';
import { type ColumnName, columnOf } from '../herd/dictionary.ts';
import { cellParser } from './cell-parser.ts';
import type { MappedColumn, Mapping } from './mapping.ts';
import { type RawCell, rawCell, type Source } from './source.ts';
import { isFault, type Parsed } from './values/parsed.ts';

/**
 * A row of a file as someone would type it: by column of the record the text of its cell, with what the file’s mapping
 * knows (unit, order of dates, decimal mark) put into words, so that it reads alike without the mapping. Cells that
 * cannot be read stay as they stand. Cells of a row that cannot be told apart are left out.
 */
export function typedRow(
  source: Source,
  mapping: Mapping,
  { line, foot }: { readonly line: number; readonly foot: string | null },
  today: CivilDay,
): Record<string, string> | null {
  const row = source.lines.indexOf(line);
  if (row === -1) return null;
  const cells: Record<string, string> = {};
  if (foot !== null) cells.foot = foot;
  if (source.broken.has(row)) return cells;
  // A foot’s own column goes before one of the whole row.
  for (const isOwn of [false, true]) {
    mapping.columns.forEach((mapped, k) => {
      const column = source.columns[k];
      if (!column || mapped.target === null || (mapped.foot !== null) !== isOwn) return;
      if (mapped.foot !== null && mapped.foot !== foot) return;
      if (mapped.target === 'foot' && foot !== null) return;
      const raw = rawCell(column, row);
      const cell = column.type === 'day' && typeof raw === 'number' ? isoFromDay(raw) : raw;
      if (cell !== null && String(cell).trim() !== '') {
        cells[mapped.target] = typedCell(mapped.target, cell, mapped, mapping, column.type === 'text', today);
      }
    });
  }
  return cells;
}

function typedCell(
  target: ColumnName,
  raw: RawCell,
  { unit }: MappedColumn,
  mapping: Mapping,
  isText: boolean,
  today: CivilDay,
): string {
  const described = columnOf(target);
  const { decimal, dateOrder } = mapping;
  const asMapped = cellParser(described, {
    unit,
    decimal: isText ? decimal : 'point',
    dateOrder: dateOrder === 'ask' ? 'iso' : dateOrder,
    today,
  })(raw);
  const plain = cellParser(described, { dateOrder: 'iso', decimal: 'point', today });
  const text = String(raw).trim();
  const isAlike = (one: string): boolean => alike(plain(one), asMapped);
  const ways = [
    text,
    `${text} ${unit}`,
    `${text.replace(',', '.')} ${unit}`,
    written(asMapped, described.kind),
  ];
  return ways.find(isAlike) ?? text;
}

function written(value: Parsed, kind: string): string {
  if (value === null || isFault(value)) return '';
  return kind === 'day' ? isoFromDay(Number(value)) : String(value);
}

/** Read alike, faults for the same reason included. */
function alike(a: Parsed, b: Parsed): boolean {
  if (isFault(a) || isFault(b)) return isFault(a) && isFault(b) && a.fault === b.fault;
  return a === b;
}
