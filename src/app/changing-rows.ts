import type { Memory } from '../analyses/memory.ts';
import type { IntakeMethods } from './herd-service.ts';
import type { SheetMethods } from './sheet-service.ts';

/** Which methods may change the rows of the herd, so that what was worked out over them no longer holds. */
const CHANGES_ROWS: Readonly<Record<keyof IntakeMethods | keyof SheetMethods, boolean>> = {
  inspect: false,
  repropose: false,
  admit: true,
  startBlank: true,
  sheetColumns: false,
  sheetCount: false,
  sheetRows: false,
  sheetPlace: false,
  columnSummary: false,
  judgeCells: false,
  judgeRows: false,
  setAsideCells: false,
  lastValues: false,
  applyAmendments: true,
  replaceAmendments: true,
  checkExpression: false,
  setDerivedColumns: true,
};

/** Runs jobs one after the other. */
type Alone = <T>(job: () => Promise<T>) => Promise<T>;

/**
 * The same methods; those that change rows do so one after the other, so that no load puts rows into the tables of
 * another, and under the eyes of the memory.
 */
export function changingRows<M extends Partial<IntakeMethods & SheetMethods>>(
  memory: Memory,
  alone: Alone,
  methods: M,
): M {
  const watched = Object.entries(methods).map(([name, method]) => {
    if (!CHANGES_ROWS[name as keyof typeof CHANGES_ROWS]) return [name, method];
    const change = method as (...given: unknown[]) => Promise<unknown>;
    return [name, (...given: unknown[]) => alone(() => memory.during(() => change(...given)))];
  });
  return Object.fromEntries(watched) as M;
}
