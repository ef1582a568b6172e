/**
 * Where each row comes among all when they stand by horse, then day and foot: a counting sort by the second, then by the
 * first. `rank` has a whole number from 0 for each horse's number, `dayFoot` one that grows by day and foot.
 */
export function rowPlaces(horse: Int32Array, rank: Int32Array, dayFoot: Int32Array): Int32Array {
  const byDay = countingOrder(dayFoot, null);
  const order = countingOrder(
    horse.map((number) => rank[number] as number),
    byDay,
  );
  const places = new Int32Array(order.length);
  order.forEach((row, place) => {
    places[row] = place;
  });
  return places;
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
