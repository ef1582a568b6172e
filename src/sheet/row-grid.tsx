import { useRef, useState } from 'preact/hooks';
import { Grid } from './grid.tsx';
import type { RowSort, RowSource } from './row-source.ts';

interface RowGridProps {
  readonly source: RowSource;
  /** What the rows are, for a reader who does not see the heading. */
  readonly label: string;
  /** How many columns at the left stay in view. */
  readonly identity?: number;
  /** Enter or a double click on a cell. */
  onActivate?(row: number, column: string): void;
}

/** Rows to be read, not changed: sorted from a heading, marked and copied whole. */
export function RowGrid(props: RowGridProps) {
  // Another source begins at its top, unsorted: a grid of its own.
  const seen = useRef({ source: props.source, count: 0 });
  if (seen.current.source !== props.source) {
    seen.current = { source: props.source, count: seen.current.count + 1 };
  }
  return <ReadGrid key={seen.current.count} {...props} />;
}

function ReadGrid({ source, label, identity = 0, onActivate }: RowGridProps) {
  const [sort, setSort] = useState<RowSort | null>(null);
  return (
    <Grid
      source={source}
      label={label}
      identity={identity}
      sort={sort}
      onSort={setSort}
      onActivate={onActivate ? (row, column) => onActivate(row, column) : undefined}
    />
  );
}
