/** A long list is weighed by this many of its values. */
const SAMPLE = 64;

/** About how much memory a value holds: exact for typed arrays, by a sample of the values for lists; never 0. */
export function roughBytes(value: unknown): number {
  return weigh(value, new Set());
}

function weigh(value: unknown, seen: Set<object>): number {
  if (typeof value === 'string') return 16 + 2 * value.length;
  if (typeof value !== 'object' || value === null) return 8;
  if (ArrayBuffer.isView(value)) return weighOnce(value.buffer, seen, () => value.buffer.byteLength);
  return weighOnce(value, seen, () => {
    if (Array.isArray(value)) return weighList(value, seen);
    if (value instanceof Map)
      return weighList([...value.keys()], seen) + weighList([...value.values()], seen);
    if (value instanceof Set) return weighList([...value], seen);
    return Object.values(value).reduce((sum: number, part) => sum + weigh(part, seen), 32);
  });
}

/** What several parts share counts once. */
function weighOnce(object: object, seen: Set<object>, bytes: () => number): number {
  if (seen.has(object)) return 8;
  seen.add(object);
  return 16 + bytes();
}

function weighList(values: readonly unknown[], seen: Set<object>): number {
  const step = Math.max(1, Math.floor(values.length / SAMPLE));
  let [sum, counted] = [0, 0];
  for (let at = 0; at < values.length; at += step) {
    sum += weigh(values[at], seen);
    counted += 1;
  }
  return counted === 0 ? 0 : (sum / counted + 8) * values.length;
}
