/** Bytes that follow one another, as one. */
export const joinedBytes = (parts: readonly Uint8Array[]): Uint8Array =>
  laidOut(parts, (length) => new Uint8Array(length));

/**
 * The same, each time in the same memory: what was given before is written over. New memory for each of many long ones
 * costs more than to copy them.
 */
export function joiningBytes(): (parts: readonly Uint8Array[]) => Uint8Array {
  let memory = new Uint8Array(0);
  return (parts) =>
    laidOut(parts, (length) => {
      if (memory.length < length) memory = new Uint8Array(length);
      return memory.subarray(0, length);
    });
}

function laidOut(parts: readonly Uint8Array[], room: (length: number) => Uint8Array): Uint8Array {
  const all = room(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
