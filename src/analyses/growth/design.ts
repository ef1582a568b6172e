import { type Unavailable, unavailable } from '../../core/outcome.ts';
import { commonest, type Grouping, groupingName } from '../groups.ts';
import type { GrowthRows } from './data.ts';
import type { GrowthOptions } from './options.ts';

/** The rate design: one column a group (no intercept), then centred adjustments, then season. */
export interface GrowthDesign {
  /** Row-major n × names.length. */
  readonly x: Float64Array;
  readonly names: readonly string[];
  /** What each column tells apart; null for season, or where nothing is compared. */
  readonly groupings: readonly (Grouping | null)[];
  /** Level names of the groups compared, in column order; `all` alone where nothing is compared. */
  readonly levels: readonly string[];
  /** For each row its group. */
  readonly levelOf: Int32Array;
  /** Share of the rows that each group has. */
  readonly shares: Float64Array;
  /** Places of the annual cosine and sine, where fitted. */
  readonly season: { readonly cos: number; readonly sin: number } | null;
  readonly notes: readonly Unavailable[];
}

export function growthDesign(rows: GrowthRows, options: GrowthOptions, withSeason: boolean): GrowthDesign {
  const n = rows.days.length;
  const compared = options.by === 'none' ? null : (rows.groups.get(options.by) ?? null);
  const levels = compared ? compared.levels : ['all'];
  const levelOf = compared ? compared.codes : new Int32Array(n);
  const by = options.by === 'none' ? null : options.by;
  const columns: { name: string; grouping: Grouping | null; fill: Filling }[] = levels.map((level, k) => ({
    name: level,
    grouping: by,
    fill: ofLevel(levelOf, k, 0),
  }));
  for (const adjust of options.adjust) {
    const coded = rows.groups.get(adjust);
    if (!coded || adjust === options.by) continue;
    // Centred on the herd's own mix, so that a group's column stays its rate at that mix; the commonest is left out.
    const shares = sharesOf(coded.codes, coded.levels.length);
    const leftOut = commonest(coded);
    coded.levels.forEach((level, k) => {
      if (k === leftOut) return;
      const share = shares[k] ?? 0;
      columns.push({
        name: `${groupingName(adjust)} ${level}`,
        grouping: adjust,
        fill: ofLevel(coded.codes, k, share),
      });
    });
  }
  let season: GrowthDesign['season'] = null;
  if (withSeason) {
    season = { cos: columns.length, sin: columns.length + 1 };
    columns.push({ name: 'season (cosine)', grouping: null, fill: ofNumbers(rows.seasonCos) });
    columns.push({ name: 'season (sine)', grouping: null, fill: ofNumbers(rows.seasonSin) });
  }
  const p = columns.length;
  const x = new Float64Array(n * p);
  columns.forEach(({ fill }, j) => {
    fill(x, j, p);
  });
  const notes = withSeason
    ? []
    : [
        unavailable(
          'collinear',
          'These records do not cover enough of the year to tell season apart, so no season is allowed for: rates are of the months seen.',
        ),
      ];
  return {
    x,
    names: columns.map((c) => c.name),
    groupings: columns.map((c) => c.grouping),
    levels,
    levelOf,
    shares: sharesOf(levelOf, levels.length),
    season,
    notes,
  };
}

/** Fills column j of a row-major matrix of p columns: a call for each, as one for every row takes many times as long. */
type Filling = (x: Float64Array, j: number, p: number) => void;

/** 1 in rows of the level and 0 in others, less its share. */
const ofLevel =
  (codes: Int32Array, level: number, share: number): Filling =>
  (x, j, p) => {
    const [there, elsewhere] = [1 - share, 0 - share];
    for (let row = 0, at = j; row < codes.length; row++, at += p) {
      x[at] = codes[row] === level ? there : elsewhere;
    }
  };

const ofNumbers =
  (values: Float64Array): Filling =>
  (x, j, p) => {
    for (let row = 0, at = j; row < values.length; row++, at += p) x[at] = values[row]!;
  };

function sharesOf(codes: Int32Array, levels: number): Float64Array {
  const totals = new Float64Array(levels);
  for (let row = 0; row < codes.length; row++) totals[codes[row]!]! += 1;
  return totals.map((total) => total / codes.length);
}

type Terms = Pick<GrowthDesign, 'names' | 'season'>;

/** A point of the design: group k, at the herd's mix, at the given season (0, 0 = the year's mean). */
export function designPoint(design: Terms, level: number, cos = 0, sin = 0): Float64Array {
  const x = new Float64Array(design.names.length);
  x[level] = 1;
  if (design.season) {
    x[design.season.cos] = cos;
    x[design.season.sin] = sin;
  }
  return x;
}

/** The herd's own mix of groups, by cycles. */
export function herdPoint(design: Terms & Pick<GrowthDesign, 'shares'>, cos = 0, sin = 0): Float64Array {
  const x = designPoint(design, 0, cos, sin);
  x.set(design.shares);
  return x;
}
