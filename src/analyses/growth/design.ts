import { makeRoom } from '../../core/let-go.ts';
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
  const columns: { name: string; grouping: Grouping | null }[] = levels.map((level) => ({
    name: level,
    grouping: by,
  }));
  const fills: Filling[] = [
    ofLevels(levelOf, Int32Array.from(levels.keys()), new Float64Array(levels.length), 0),
  ];
  for (const adjust of options.adjust) {
    const coded = rows.groups.get(adjust);
    if (!coded || adjust === options.by) continue;
    // Centred on the herd's own mix, so that a group's column stays its rate at that mix; the commonest is left out.
    const shares = sharesOf(coded.codes, coded.levels.length);
    const leftOut = commonest(coded);
    const others = Int32Array.from(coded.levels.keys()).filter((k) => k !== leftOut);
    fills.push(ofLevels(coded.codes, others, shares, columns.length));
    for (const k of others) {
      columns.push({ name: `${groupingName(adjust)} ${coded.levels[k]}`, grouping: adjust });
    }
  }
  let season: GrowthDesign['season'] = null;
  if (withSeason) {
    season = { cos: columns.length, sin: columns.length + 1 };
    fills.push(ofSeason(rows, columns.length));
    columns.push({ name: 'season (cosine)', grouping: null });
    columns.push({ name: 'season (sine)', grouping: null });
  }
  const p = columns.length;
  makeRoom(n, 8 * n * p);
  const x = new Float64Array(n * p);
  for (let from = 0; from < n; from += NEAR_ROWS) {
    for (const fill of fills) fill(x, p, from, Math.min(n, from + NEAR_ROWS));
  }
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

/** Fills columns of a row-major matrix of p columns in the rows from one up to another. */
type Filling = (x: Float64Array, p: number, from: number, to: number) => void;

/** So many rows of a matrix stay near at hand while all their columns are filled. */
const NEAR_ROWS = 1024;

/** The columns from `first` on: of each of these levels 1 in its rows and 0 in others, less its share. */
function ofLevels(codes: Int32Array, levels: Int32Array, shares: Float64Array, first: number): Filling {
  return (x, p, from, to) => {
    for (let j = 0; j < levels.length; j++) {
      const level = levels[j]!;
      fillLevel(x, p, from, to, first + j, codes, level, shares[level]!);
    }
  };
}

/** By a call for each column: a loop that asks for every row which it is takes many times as long. */
function fillLevel(
  x: Float64Array,
  p: number,
  from: number,
  to: number,
  j: number,
  codes: Int32Array,
  level: number,
  share: number,
): void {
  const [there, elsewhere] = [1 - share, 0 - share];
  for (let row = from, at = from * p + j; row < to; row++, at += p) {
    x[at] = codes[row] === level ? there : elsewhere;
  }
}

const ofSeason =
  ({ seasonCos, seasonSin }: GrowthRows, first: number): Filling =>
  (x, p, from, to) => {
    for (let row = from, at = from * p + first; row < to; row++, at += p) {
      x[at] = seasonCos[row]!;
      x[at + 1] = seasonSin[row]!;
    }
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
