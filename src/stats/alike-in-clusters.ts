import { collapseRows } from './cells.ts';

/** Rows of one cluster that share a code, as one row that counts so often: arrays of length n. */
interface AlikeInClusters {
  /** The first of the rows that each stands for. */
  readonly row: Uint32Array;
  readonly count: Float64Array;
}

/**
 * Puts rows of one cluster together that share a code, clusters and codes in the order in which rows have them. `code`:
 * whole numbers from 0, below 0 where a row is left out. Rows mostly come cluster after cluster, and a cluster has few: its
 * codes are looked up in a table that stays at hand, where one for all rows would not.
 */
export function alikeInClusters(code: Int32Array, cluster: Int32Array): AlikeInClusters {
  const longest = longestCluster(cluster);
  if (longest === null) {
    const { pairRow, pairCount } = collapseRows(
      [code],
      cluster,
      code.map((of) => (of < 0 ? 0 : 1)),
    );
    return { row: new Uint32Array(pairRow), count: pairCount };
  }
  const found: Found = {
    row: new Uint32Array(code.length),
    count: new Float64Array(code.length),
    table: new Int32Array(2 ** Math.ceil(Math.log2(2 * longest + 2))).fill(-1),
    ofCluster: 0,
    size: 0,
  };
  for (let from = 0; from < code.length; from += STRETCH_ROWS) {
    addStretch(found, code, cluster, from, Math.min(code.length, from + STRETCH_ROWS));
  }
  return { row: found.row.slice(0, found.size), count: found.count.slice(0, found.size) };
}

/** The rows of the longest cluster; null where clusters do not come one after the other, by rising numbers. */
function longestCluster(cluster: Int32Array): number | null {
  let longest = 0;
  for (let row = 0, first = 0; row < cluster.length; row += 1) {
    if (row > 0 && cluster[row] !== cluster[row - 1]) {
      if (cluster[row]! < cluster[row - 1]!) return null;
      first = row;
    }
    if (row - first >= longest) longest = row - first + 1;
  }
  return longest;
}

interface Found extends AlikeInClusters {
  /** At the place of a code, the number of the row that has it: of this cluster from `ofCluster` on, of no use below. */
  readonly table: Int32Array;
  ofCluster: number;
  size: number;
}

/** Rows looked at by one call: a loop over all, once in a session, is over before the browser has made it quick. */
const STRETCH_ROWS = 4096;

function addStretch(found: Found, code: Int32Array, cluster: Int32Array, from: number, to: number): void {
  const { row: rows, count, table } = found;
  const mask = table.length - 1;
  let { ofCluster, size } = found;
  for (let row = from; row < to; row += 1) {
    if (row > 0 && cluster[row] !== cluster[row - 1]) ofCluster = size;
    const of = code[row]!;
    if (of < 0) continue;
    const mixed = Math.imul(of, 0x9e3779b1);
    let place = (mixed ^ (mixed >>> 15)) & mask;
    let at = table[place]!;
    while (at >= ofCluster && code[rows[at]!] !== of) {
      place = (place + 1) & mask;
      at = table[place]!;
    }
    if (at < ofCluster) {
      at = size;
      table[place] = at;
      rows[at] = row;
      size += 1;
    }
    count[at]! += 1;
  }
  found.ofCluster = ofCluster;
  found.size = size;
}
