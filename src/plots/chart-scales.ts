import * as Plot from '@observablehq/plot';
import { formatNumber } from '../core/format-value.ts';
import { fitText } from '../core/text-width.ts';
import type { Axis } from './chart-axis.ts';
import type { ChartLayout } from './chart-layout.ts';
import { logTicks } from './log-ticks.ts';
import type { Inks } from './palette.ts';

const MONTHS = new Intl.DateTimeFormat('en-GB', { month: 'short', timeZone: 'UTC' });

/** Whether categories are places of a width (for bars), or cells without a gap; points otherwise. */
interface BandUse {
  readonly bars: boolean;
  readonly cells: boolean;
}

export function scaleOf(axis: Axis, { bars, cells }: BandUse): Plot.ScaleOptions {
  switch (axis.kind) {
    case 'band': {
      const padding = cells ? 0.04 : bars ? 0.2 : 0.6;
      return { type: bars ? 'band' : 'point', domain: axis.domain.map(String), padding, label: null };
    }
    case 'date':
      return { type: 'utc', domain: [...axis.domain], label: null };
    case 'log':
      return { type: 'log', domain: [...axis.domain], label: null };
    case 'linear':
      return { type: 'linear', domain: [...axis.domain], nice: true, label: null };
  }
}

function tickWords(axis: Axis, room: number): { tickFormat?: (value: unknown) => string } {
  if (axis.kind === 'band') return { tickFormat: (value) => fitText(String(value), room) };
  if (axis.kind === 'date') {
    return axis.format === 'month' ? { tickFormat: (value) => MONTHS.format(value as Date) } : {};
  }
  if (axis.format === 'percent') {
    // 0.07 × 100 is 7.000000000000001.
    return { tickFormat: (value) => `${formatNumber(Number((Number(value) * 100).toPrecision(12)))} %` };
  }
  return { tickFormat: (value) => formatNumber(Number(value)) };
}

/** Where there is no room beside the marks, each category's name stands over them, along the left edge. */
function namesOver(y: Axis, { width, margin, nameRise }: ChartLayout, inks: Inks): Plot.Markish {
  const names = y.domain.map(String);
  return Plot.text(names, {
    y: (name: string) => name,
    text: (name: string) => fitText(name, width - 12),
    frameAnchor: 'left',
    textAnchor: 'start',
    dx: 4 - margin.left,
    dy: -nameRise,
    fill: inks.soft,
  } as unknown as Plot.TextOptions);
}

/** How many figures an axis has room for; of a log axis, which. */
function ticksOf({ kind, domain }: Axis, most: number): { ticks?: number | number[] } {
  if (kind === 'log') return { ticks: logTicks(domain as [number, number], most) ?? most };
  return kind === 'linear' ? { ticks: most } : {};
}

/** Ticks, their labels and hairlines; titles are written apart. */
export function axesMarks(x: Axis, y: Axis, layout: ChartLayout, inks: Inks): Plot.Markish[] {
  const look = { color: inks.soft, label: null, tickSize: 4, tickPadding: 4, ticks: 6 };
  const aslant = layout.isTurned ? { tickRotate: -40 } : {};
  const firm = { stroke: inks.line, strokeOpacity: 1 };
  const faint = { stroke: inks.line, strokeOpacity: 0.7, strokeDasharray: '1 3' };
  const monthly = x.format === 'month' ? { ticks: 'month' } : {};
  // Room for about six figures of four signs.
  const { width, height, margin, grid } = layout;
  const across = (width - margin.left - margin.right) / (grid?.columns ?? 1);
  const ticks = ticksOf(x, Math.max(2, Math.min(6, Math.floor(across / 62))));
  const panel =
    ((height - margin.top - margin.bottom) / (grid?.rows ?? 1)) * (grid && grid.rows > 1 ? 0.77 : 1);
  const rungs = ticksOf(y, Math.max(2, Math.min(6, Math.floor(panel / 24))));
  const down = { ...look, ...rungs, ...tickWords(y, layout.roomY), fontSize: layout.nameSize };
  return [
    ...(x.kind === 'band' ? [] : [Plot.gridX({ ...firm, ...ticks, ...monthly } as Plot.GridXOptions)]),
    Plot.gridY(y.kind === 'band' ? faint : { ...firm, ...rungs }),
    Plot.axisX({
      ...look,
      ...ticks,
      ...tickWords(x, layout.roomX),
      ...aslant,
      ...monthly,
    } as Plot.AxisXOptions),
    layout.nameRise > 0 ? namesOver(y, layout, inks) : Plot.axisY(down as Plot.AxisYOptions),
  ];
}
