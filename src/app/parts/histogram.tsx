import type { ColumnSummary } from '../../sheet/column-summary.ts';

const WIDTH = 260;
const HEIGHT = 56;
const GAP = 1;

interface HistogramProps {
  readonly histogram: NonNullable<ColumnSummary['histogram']>;
  readonly shown: (value: number) => string;
  readonly label: string;
}

/** How the values of a column lie, in small. */
export function Histogram({ histogram: { from, width, counts }, shown, label }: HistogramProps) {
  const most = Math.max(1, ...counts);
  const step = WIDTH / counts.length;
  const to = from + width * counts.length;
  const fullest = counts.indexOf(most);
  const start = from + fullest * width;
  return (
    <figure class="histogram">
      <svg
        viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
        role="img"
        aria-label={`${label}: from ${shown(from)} to ${shown(to)}; most lie between ${shown(start)} and ${shown(start + width)}`}
      >
        {counts.map((n, at) => {
          // A bar that stands for any value at all can be seen.
          const tall = n === 0 ? 0 : Math.max(1.5, (n / most) * HEIGHT);
          return (
            <rect
              key={at}
              x={at * step}
              y={HEIGHT - tall}
              width={Math.max(1, step - GAP)}
              height={tall}
              fill="var(--accent)"
            />
          );
        })}
      </svg>
      <figcaption>
        <span>{shown(from)}</span>
        <span>{shown(to)}</span>
      </figcaption>
    </figure>
  );
}
