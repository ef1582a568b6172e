import type { Series } from './chart-series.ts';
import type { Inks } from './palette.ts';

const SVG = 'http://www.w3.org/2000/svg';
const ANGLES = [0, 45, -45, 90, 0, 20, -20, 70] as const;
let charts = 0;

/** A prefix for the ids of one drawing: several share a document. */
export function nextHatchPrefix(): string {
  charts += 1;
  return `hatch-${charts}-`;
}

/** Hatched fills, so that areas of several series differ by more than colour. */
export function hatchDefinitions(prefix: string, series: readonly Series[], inks: Inks): SVGElement {
  const make = (name: string, attributes: Record<string, string | number>) => {
    const element = document.createElementNS(SVG, name) as SVGElement;
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
    return element;
  };
  const defs = make('defs', {});
  series.forEach(({ look }, at) => {
    const pattern = make('pattern', {
      id: `${prefix}${at}`,
      width: 5,
      height: 5,
      patternUnits: 'userSpaceOnUse',
      patternTransform: `rotate(${ANGLES[at % ANGLES.length]})`,
    });
    pattern.append(
      make('rect', { width: 5, height: 5, fill: look.colour, 'fill-opacity': 0.8 }),
      make('path', { d: 'M0,2.5h5', stroke: inks.paper, 'stroke-width': 1.2 }),
    );
    defs.append(pattern);
  });
  return defs;
}
