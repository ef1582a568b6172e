import { type Signal, useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ColumnName } from '../../herd/dictionary.ts';
import { FEET, type Foot } from '../../herd/vocabularies.ts';
import type { Deed, StoredValue } from '../../sheet/amendment.ts';
import type { JudgedRow } from '../sheet-service.ts';
import { EMPTY_VISIT, rowsOfVisit, type VisitFault, type VisitForm, visitFaults } from '../visit-form.ts';
import type { PanelProps } from './panel-props.ts';

type Herd = PanelProps['herd'];
/** By foot and column. */
type Last = Readonly<Record<string, Readonly<Record<string, StoredValue>>>>;
const LAST_ASKED_AFTER_MS = 250;
const NOTHING_NOTED: VisitFault = {
  foot: null,
  column: null,
  reason: 'nothing is noted of any foot',
  accepted: 'one value at least at one foot',
};

/** A visit as it is typed, what was last noted of its horse, and what is wrong with it once it was to be added. */
export function useVisit(herd: Herd, model: PanelProps['model']) {
  const form = useSignal<VisitForm>(EMPTY_VISIT);
  const faults = useSignal<readonly VisitFault[]>([]);
  const busy = useSignal(false);
  const horses = useHorses(herd);
  const last = useLast(herd, form.value.visit.horse_id?.trim() ?? '');

  /** Of one foot, or of the visit where it is null. */
  const setText = (foot: Foot | null, name: string, text: string): void => {
    const { visit, feet } = form.value;
    form.value = foot
      ? { ...form.value, feet: { ...feet, [foot]: { ...feet[foot], [name]: text } } }
      : { ...form.value, visit: { ...visit, [name]: text } };
  };
  const faultOf = (foot: Foot | null, column: string): VisitFault | null =>
    faults.value.find((fault) => fault.foot === foot && fault.column === column) ?? null;
  /** Without a foot, of the first that has it: what belongs to a visit stands at each of its feet. */
  const lastOf = (foot: Foot | null, name: string): StoredValue => {
    const seen = (foot ? [foot] : FEET).map((each) => last.value[each]?.[name] ?? null);
    return seen.find((value) => value !== null) ?? null;
  };

  async function tryToAdd(added: () => void): Promise<void> {
    const rows = rowsOfVisit(form.value);
    if (rows.length === 0) {
      faults.value = [NOTHING_NOTED];
      return;
    }
    const judged = await herd.call(
      'judgeRows',
      rows.map(({ row }) => row),
    );
    faults.value = visitFaults(
      rows.map(({ foot }) => foot),
      judged,
    );
    if (faults.value.length > 0) return;
    const deeds = deedsOf(judged);
    if (!(await model.record(deeds))) return;
    const { horse_id: who, visit_date: day, practitioner_id: practitioner } = form.value.visit;
    model.outcome.value = {
      text: `The visit of ${who} on ${day} was added: ${deeds.length} ${deeds.length === 1 ? 'foot' : 'feet'}.`,
      faults: [],
    };
    form.value = {
      ...EMPTY_VISIT,
      visit: { visit_date: day ?? '', practitioner_id: practitioner ?? '' },
    };
    added();
    const [first] = deeds;
    if (first?.kind === 'add') await model.showRow(first.row);
  }

  /** `added` is called when the form stands empty again, for the next visit of the day. */
  async function add(added: () => void): Promise<void> {
    if (busy.value) return;
    busy.value = true;
    try {
      await tryToAdd(added);
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      faults.value = [{ foot: null, column: null, reason, accepted: 'trying once more' }];
    } finally {
      busy.value = false;
    }
  }

  return { form, faults, horses, busy, setText, faultOf, lastOf, add };
}

function deedsOf(judged: readonly JudgedRow[]): Deed[] {
  return judged.flatMap((row): Deed[] => {
    if (!row.ok) return [];
    const values = row.values as Partial<Record<ColumnName, StoredValue>>;
    return [{ kind: 'add', row: row.row, values, mends: null }];
  });
}

/** A list that a browser still offers at once. */
const MOST_HORSES = 5000;

/** The ids of horses, to choose from, those most often seen first. */
function useHorses(herd: Herd): Signal<readonly string[]> {
  const horses = useSignal<readonly string[]>([]);
  useEffect(() => {
    const view = { filters: [], sort: null, wholeHerd: true };
    herd.call('columnSummary', { view, column: 'horse_id', most: MOST_HORSES }).then(
      ({ top }) => {
        horses.value = top.map(({ value }) => value);
      },
      // Only the offer of names is missing then.
      () => undefined,
    );
  }, [herd]);
  return horses;
}

/** What was last noted of a horse, asked for once its name rests. */
function useLast(herd: Herd, horse: string): Signal<Last> {
  const last = useSignal<Last>({});
  useEffect(() => {
    last.value = {};
    if (horse === '') return;
    const controller = new AbortController();
    const { signal } = controller;
    const timer = setTimeout(() => {
      herd.call('lastValues', horse, { signal }).then(
        (found) => {
          if (!signal.aborted) last.value = found;
        },
        () => undefined,
      );
    }, LAST_ASKED_AFTER_MS);
    return () => {
      clearTimeout(timer);
      controller.abort();
    };
  }, [horse, herd]);
  return last;
}
