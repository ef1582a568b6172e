import Papa from 'papaparse';
import { FOOT_VISIT } from '../herd/dictionary.ts';

/** An empty file of visits (RFC 4180): a row is a foot at a visit, the header names every column of the record. */
export function emptyTemplate(): string {
  return `${Papa.unparse([FOOT_VISIT.map(({ name }) => name)], { newline: '\r\n' })}\r\n`;
}
