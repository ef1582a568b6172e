import { type Datum, distinct, type Layer } from './chart-data.ts';
import { type Inks, type SeriesLook, seriesLook } from './palette.ts';

/** A series by its name: the value of `by`, or the literal label of a layer. */
export interface Series {
  readonly name: string;
  readonly look: SeriesLook;
  readonly marks: ReadonlySet<string>;
}

export function seriesName(layer: Layer, datum: Datum): string | null {
  if (datum.by !== null) return datum.by;
  return layer.mark.mark === 'rule' ? null : (layer.mark.label ?? null);
}

/** The colour of a tone that is not the plain one; null where the series keeps its own. */
export function toneColour(tone: Layer['mark']['tone'], inks: Inks): string | null {
  return tone === 'soft' ? inks.soft : tone === 'warn' ? inks.warn : null;
}

/** Every series of a chart with its own look, in the order in which they appear. */
export function chartSeries(layers: readonly Layer[], inks: Inks): Series[] {
  const names = distinct(layers.flatMap((layer) => layer.rows.map((datum) => seriesName(layer, datum))));
  return names.map((name, at) => {
    const own = layers.filter((layer) => layer.rows.some((datum) => seriesName(layer, datum) === name));
    const look = seriesLook(inks, at);
    return {
      name,
      look: { ...look, colour: toneColour(own[0]!.mark.tone, inks) ?? look.colour },
      marks: new Set(own.map((layer) => layer.mark.mark)),
    };
  });
}

/** Whether some category holds more than one series, so that marks must step aside for one another. */
export function needsDodge(layers: readonly Layer[], side: 'x' | 'y'): boolean {
  const byCategory = new Map<string, Set<string>>();
  for (const layer of layers) {
    if (!['dot', 'interval', 'text'].includes(layer.mark.mark)) continue;
    for (const datum of layer.rows) {
      const category = `${datum.facet} ${String(datum.at[side])}`;
      const names = byCategory.get(category) ?? new Set();
      byCategory.set(category, names.add(seriesName(layer, datum) ?? ''));
    }
  }
  return [...byCategory.values()].some((names) => names.size > 1);
}
