/**
 * The pieces of an answer, so many at a time, each time with the head that comes before all of them: what is handed to
 * `take` is an answer by itself. One without pieces is its head alone.
 */
export async function severalPieces(
  answer: AsyncIterable<Uint8Array>,
  atOnce: number,
  take: (pieces: Uint8Array[]) => void,
): Promise<void> {
  let head: Uint8Array | null = null;
  let pieces: Uint8Array[] = [];
  let isTaken = false;
  for await (const piece of answer) {
    head ??= piece;
    pieces.push(piece);
    if (pieces.length <= atOnce) continue;
    take(pieces);
    isTaken = true;
    pieces = [head];
  }
  if (pieces.length > 1 || !isTaken) take(pieces);
}
