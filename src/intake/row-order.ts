/**
 * Which row comes at each place when rows stand by horse, then day and foot: a counting sort by the second, then by the
 * first; null where they stand so already. `rank` has a whole number from 0 for each horse's number, `dayFoot` one that
 * grows by day and foot.
 */
export function rowOrder(horse: Int32Array, rank: Int32Array, dayFoot: Int32Array): Int32Array | null {
  const ranked = horse.map((number) => rank[number] as number);
  return stands(ranked, dayFoot) ? null : countingOrder(ranked, countingOrder(dayFoot, null));
}

function stands(first: Int32Array, second: Int32Array): boolean {
  for (let row = 1; row < first.length; row++) {
    const step = (first[row] as number) - (first[row - 1] as number);
    if (step < 0 || (step === 0 && (second[row] as number) < (second[row - 1] as number))) return false;
  }
  return true;
}

/** Rows by key, those alike in the order in which `before` has them. */
function countingOrder(keys: Int32Array, before: Int32Array | null): Int32Array {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const key of keys) {
    if (key < least) least = key;
    if (key > most) most = key;
  }
  const next = new Int32Array(keys.length === 0 ? 1 : most - least + 2);
  for (const key of keys) next[key - least + 1]! += 1;
  for (let k = 1; k < next.length; k++) next[k]! += next[k - 1] as number;
  const order = new Int32Array(keys.length);
  for (let i = 0; i < keys.length; i++) {
    const row = before ? (before[i] as number) : i;
    const key = (keys[row] as number) - least;
    order[next[key] as number] = row;
    next[key]! += 1;
  }
  return order;
}
