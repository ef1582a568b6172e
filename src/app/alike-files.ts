import type { Mapping } from '../intake/mapping.ts';
import { mappingProblems } from '../intake/mapping.ts';
import type { Inspection } from './herd-service.ts';

/** Files with the same headers are read the same way: a year to a file, a yard to a file. */
const isAlike = (a: Mapping, b: Mapping): boolean => a.kind === b.kind && a.signature === b.signature;

/** The first of the files that has this one's headers; null where that is this one. */
export function firstAlike(inspections: readonly Inspection[], one: Inspection): Inspection | null {
  const first = inspections.find(({ mapping }) => isAlike(mapping, one.mapping));
  return first === undefined || first === one ? null : first;
}

/** Each column of both is read as the same, of the same foot and in the same unit, and the dates in the same order. */
export function readAlike(a: Mapping, b: Mapping): boolean {
  const words = ({ columns, dateOrder }: Mapping): string =>
    JSON.stringify([
      dateOrder,
      columns.map(({ source, target, foot, unit }) => [source, target, foot, unit]).sort(),
    ]);
  return words(a) === words(b);
}

/**
 * What a change to one file makes of the others with its headers: the same change, where they were read as this file
 * was. One that its own dates or values read differently stays as it is.
 */
export function changeAlike(
  inspections: readonly Inspection[],
  file: string,
  change: (mapping: Mapping) => Mapping,
): { readonly file: string; readonly mapping: Mapping }[] {
  const before = inspections.find((one) => one.file === file)?.mapping;
  if (!before) return [];
  return inspections
    .filter((one) => one.file === file || (isAlike(one.mapping, before) && readAlike(one.mapping, before)))
    .map((one) => ({ file: one.file, mapping: change(one.mapping) }));
}

/** What must be settled before the rows can be read, a sentence each, with the files that it is about. */
export function openProblems(inspections: readonly Inspection[]): string[] {
  const files = new Map<string, string[]>();
  for (const { file, mapping } of inspections) {
    for (const problem of mappingProblems(mapping)) {
      files.set(problem, [...(files.get(problem) ?? []), file]);
    }
  }
  return [...files].map(([problem, of]) => `${of.join(', ')}: ${problem}`);
}
