import type { FootVisitColumn } from '../herd/dictionary.ts';
import { FOOT_VISIT } from '../herd/dictionary.ts';
import { FEET, type Foot } from '../herd/vocabularies.ts';
import type { JudgedRow, TypedRow } from './sheet-service.ts';

/** A visit as it is being typed: what belongs to the horse and the visit once, the rest foot by foot. */
export interface VisitForm {
  readonly visit: Readonly<Record<string, string>>;
  readonly feet: Readonly<Record<Foot, Readonly<Record<string, string>>>>;
}

export const EMPTY_VISIT: VisitForm = { visit: {}, feet: { LF: {}, RF: {}, LH: {}, RH: {} } };

const per = (what: FootVisitColumn['per']) =>
  FOOT_VISIT.filter((column) => column.per === what && column.name !== 'foot');

/** Asked for once. */
export const VISIT_FIELDS = per('visit');
export const HORSE_FIELDS = per('horse').filter(({ name }) => name !== 'horse_id');

/** Asked for at each foot; those noted most often come first. */
const OFTEN = [
  'toe_before_mm',
  'toe_after_mm',
  'heel_after_mm',
  'angle_after_deg',
  'separation_grade',
  'fungal_frog_grade',
  'fungal_wall_grade',
  'crack_grade',
  'sensitivity',
  'relief',
  'protection',
  'antifungal',
  'notes',
];
export const FOOT_FIELDS = per('foot').filter(({ name }) => OFTEN.includes(name));
export const MORE_FOOT_FIELDS = per('foot').filter(({ name }) => !OFTEN.includes(name));

const filled = (cells: Readonly<Record<string, string>>) =>
  Object.fromEntries(Object.entries(cells).filter(([, text]) => text.trim() !== ''));

/** The feet of which something was noted, each a row with what belongs to the visit. */
export function rowsOfVisit({ visit, feet }: VisitForm): { readonly foot: Foot; readonly row: TypedRow }[] {
  return FEET.flatMap((foot) => {
    const noted = filled(feet[foot]);
    if (Object.keys(noted).length === 0) return [];
    return [{ foot, row: { cells: { ...filled(visit), ...noted, foot } } }];
  });
}

/** A fault and the field it stands beside; a foot of null is the visit's own. */
export interface VisitFault {
  readonly foot: Foot | null;
  readonly column: string | null;
  readonly reason: string;
  readonly accepted: string;
}

/** What is wrong, each thing once although every foot's row repeats the visit's own cells. */
export function visitFaults(feet: readonly Foot[], judged: readonly JudgedRow[]): VisitFault[] {
  const faults: VisitFault[] = [];
  judged.forEach((row, k) => {
    if (row.ok) return;
    for (const { column, reason, accepted } of row.faults) {
      const isOfFoot = FOOT_VISIT.find(({ name }) => name === column)?.per === 'foot' || column === null;
      const fault = { foot: isOfFoot ? feet[k]! : null, column, reason, accepted };
      const isTold = faults.some(
        (one) => one.foot === fault.foot && one.column === column && one.reason === reason,
      );
      if (!isTold) faults.push(fault);
    }
  });
  return faults;
}
