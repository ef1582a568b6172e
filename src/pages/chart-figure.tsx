import { useContext, useLayoutEffect, useMemo, useRef, useState } from 'preact/hooks';
import type { Behind } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import type { ChartSpec } from '../plots/chart-spec.ts';
import { chartData } from '../plots/chart-spec.ts';
import { type Chart, drawChart } from '../plots/draw-chart.ts';
import { chartTheme } from './chart-theme.ts';
import { drawnWithoutBands } from './draft-views.ts';
import type { TableView } from './entry-state.ts';
import { markCursor } from './mark-cursor.ts';
import { ResultTable } from './result-table.tsx';
import { rowsBehind } from './rows-behind.ts';
import { chartInLengths, ShownLengthContext } from './shown-lengths.ts';
import { PICTURE_FORMATS, type PictureFormat, TakeAwayContext } from './take-away.ts';
import { TakeAwayButtons } from './take-away-buttons.tsx';

const USUAL_WIDTH = 720;

function useWidth() {
  const frame = useRef<HTMLDivElement>(null);
  const [width, setWidth] = useState(USUAL_WIDTH);
  useLayoutEffect(() => {
    const element = frame.current;
    if (!element) return;
    const measure = () => element.clientWidth > 0 && setWidth(element.clientWidth);
    measure();
    if (typeof ResizeObserver === 'undefined') return;
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  return { frame, width };
}

function draw(
  stated: ChartSpec,
  stored: Readonly<Record<string, TableView>>,
  width: number,
  lengths: ShownLength,
): Chart | { error: string } {
  const unanswered = Object.values(stored).find((view) => view.unanswered)?.unanswered;
  if (unanswered) return { sentence: unanswered };
  try {
    const { spec, views } = chartInLengths(drawnWithoutBands(stated, stored), stored, lengths);
    return drawChart(spec, views, { width, theme: chartTheme().value });
  } catch (error) {
    return { error: error instanceof Error ? error.message : String(error) };
  }
}

interface ChartFigureProps {
  readonly name: string;
  /** Whose figures these are, where two cohorts stand side by side. */
  readonly cohort?: string | undefined;
  readonly spec: ChartSpec;
  readonly views: Readonly<Record<string, TableView>>;
  onOpenRows(behind: Behind): void;
}

/** A drawing with its caption, its marks open to pointer and keyboard, and the same numbers as a table. */
export function ChartFigure({ name: entry, cohort, spec, views, onOpenRows }: ChartFigureProps) {
  const { frame, width } = useWidth();
  const [readout, setReadout] = useState('');
  const takeAway = useContext(TakeAwayContext);
  const theme = chartTheme().value;
  const lengths = useContext(ShownLengthContext);
  const chart = useMemo(() => draw(spec, views, width, lengths), [spec, views, width, theme, lengths]);
  const lacksBands = Object.values(views).some((view) => view.lacksBands);
  const latest = useRef({ views, onOpenRows });
  latest.current = { views, onOpenRows };

  useLayoutEffect(() => {
    const element = frame.current;
    if (!element) return;
    setReadout('');
    if (!('svg' in chart)) {
      element.replaceChildren();
      return;
    }
    element.replaceChildren(chart.svg);
    const behindOf = (table: string, row: number) => {
      const view = latest.current.views[table];
      return view ? rowsBehind(view, row) : null;
    };
    const cursor = markCursor(element, {
      along: chart.along,
      pick: (table, row) => {
        const behind = behindOf(table, row);
        if (behind) latest.current.onOpenRows(behind);
      },
      canPick: (table, row) => behindOf(table, row) !== null,
      say: setReadout,
    });
    return cursor.release;
  }, [chart, frame]);

  return (
    <figure class="chart-figure">
      {spec.title && <p class="chart-title">{spec.title}</p>}
      {/* biome-ignore lint/a11y/useSemanticElements: marks of a drawing are no form fields */}
      <div
        class="chart-frame"
        ref={frame}
        role="group"
        tabIndex={'svg' in chart ? 0 : -1}
        aria-label="Marks of the chart: arrow keys move from one to the next, Enter opens the rows behind it"
      />
      {'error' in chart && (
        <p class="entry-error" role="alert">
          This chart cannot be drawn: {chart.error}
        </p>
      )}
      {'sentence' in chart && <p class="nothing">{chart.sentence}</p>}
      {'svg' in chart && (
        <>
          <p class="chart-readout" aria-live="polite">
            {readout}
          </p>
          <figcaption>
            {cohort && `${cohort}. `}
            {chart.caption}
            {lacksBands && (
              <strong class="bands-to-come"> The 95 % intervals are still being worked out.</strong>
            )}
          </figcaption>
          {takeAway && !lacksBands && (
            <TakeAwayButtons
              what="this chart"
              formats={PICTURE_FORMATS}
              take={(format) => takeAway.picture(entry, spec, views, format as PictureFormat)}
            />
          )}
        </>
      )}
      {/* Without its intervals nothing is to be read off or taken along. */}
      <details class="chart-table" hidden={lacksBands}>
        <summary>Show as table</summary>
        {chartData(spec).map((name) => {
          const view = views[name];
          return view && <ResultTable key={name} name={name} view={view} onOpenRows={onOpenRows} />;
        })}
      </details>
    </figure>
  );
}
