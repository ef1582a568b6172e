/** How the user has arranged the columns of a sheet. */
export interface SheetLayout {
  /** Names in the order wanted; columns not named follow in their own. */
  readonly order: readonly string[];
  readonly hidden: readonly string[];
  /** Kept in view at the left. */
  readonly fixed: readonly string[];
  /** px, where set by hand. */
  readonly widths: Readonly<Record<string, number>>;
}

export const FIRST_LAYOUT: SheetLayout = {
  order: [],
  hidden: [],
  fixed: ['horse_id', 'visit_date', 'foot'],
  widths: {},
};

interface Named {
  readonly name: string;
}

/** All columns in the order wanted, those kept in view first. */
export function orderedColumns<C extends Named>(columns: readonly C[], { order, fixed }: SheetLayout): C[] {
  const rank = new Map(order.map((name, at) => [name, at]));
  const group = ({ name }: C) => (fixed.includes(name) ? 0 : 1);
  // A column that is new to the layout stands after the one it follows by nature, not at the end of all.
  const place = new Map<string, number>();
  let last = -1;
  for (const { name } of columns) {
    last = rank.get(name) ?? last + 0.001;
    place.set(name, last);
  }
  return [...columns].sort((a, b) => group(a) - group(b) || place.get(a.name)! - place.get(b.name)!);
}

/** The columns shown, and how many of them stay in view. */
export function arrange<C extends Named>(
  columns: readonly C[],
  layout: SheetLayout,
): { readonly columns: readonly C[]; readonly fixed: number } {
  const shown = orderedColumns(columns, layout).filter(({ name }) => !layout.hidden.includes(name));
  return { columns: shown, fixed: shown.filter(({ name }) => layout.fixed.includes(name)).length };
}

/** A column one place further left or right among those of its group that are shown. */
export function moveColumn(
  columns: readonly Named[],
  layout: SheetLayout,
  name: string,
  by: 1 | -1,
): SheetLayout {
  const order = orderedColumns(columns, layout).map((column) => column.name);
  const isSeen = (other: string) =>
    !layout.hidden.includes(other) && layout.fixed.includes(other) === layout.fixed.includes(name);
  const from = order.indexOf(name);
  let to = from + by;
  while (to >= 0 && to < order.length && !isSeen(order[to]!)) to += by;
  if (from < 0 || to < 0 || to >= order.length) return layout;
  order.splice(from, 1);
  order.splice(to, 0, name);
  return { ...layout, order };
}

const toggled = (names: readonly string[], name: string) =>
  names.includes(name) ? names.filter((other) => other !== name) : [...names, name];

export const toggleHidden = (layout: SheetLayout, name: string): SheetLayout => ({
  ...layout,
  hidden: toggled(layout.hidden, name),
});

export const toggleFixed = (layout: SheetLayout, name: string): SheetLayout => ({
  ...layout,
  fixed: toggled(layout.fixed, name),
});

export const setWidth = (layout: SheetLayout, name: string, px: number): SheetLayout => ({
  ...layout,
  widths: { ...layout.widths, [name]: Math.round(px) },
});

/** A layout that was kept, if it is one. */
export function readLayout(kept: unknown): SheetLayout {
  if (typeof kept !== 'object' || kept === null) return FIRST_LAYOUT;
  const { order, hidden, fixed, widths } = kept as Record<string, unknown>;
  const names = (value: unknown, otherwise: readonly string[]) =>
    Array.isArray(value) && value.every((name) => typeof name === 'string') ? (value as string[]) : otherwise;
  const isWidths =
    typeof widths === 'object' &&
    widths !== null &&
    Object.values(widths).every((px) => typeof px === 'number' && px > 0);
  return {
    order: names(order, FIRST_LAYOUT.order),
    hidden: names(hidden, FIRST_LAYOUT.hidden),
    fixed: names(fixed, FIRST_LAYOUT.fixed),
    widths: isWidths ? (widths as Record<string, number>) : {},
  };
}
