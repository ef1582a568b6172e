/** Far beyond what the language's engine lets stand of buffers without a look at which of them are still used. */
const BYTES = 2 ** 30;

/**
 * Has memory that nothing uses any more given back now. The engine of the language looks for it when much has been added to
 * what stood before, so that beside columns of a large herd as much again may lie unused. It looks at once where a great
 * buffer is asked for; the system gives no room to one that is never written to, and it is let go of at once. Where none is
 * to be had, nothing happens.
 */
export function letGo(): void {
  try {
    const buffer = new ArrayBuffer(BYTES) as ArrayBuffer & { transfer?: (bytes: number) => ArrayBuffer };
    buffer.transfer?.(0);
  } catch {
    // No room for it: the engine has looked already.
  }
}

/** Columns of more rows than this are of a large herd: of others less lies unused than a look takes. */
export const MANY_ROWS = 1_250_000;
/** So much is made between two looks. */
const BETWEEN_BYTES = 256e6;

let made = 0;

/**
 * To be told before buffers of so many bytes are made for so many rows. Between two columns a fit makes a dozen of them, and
 * while it does, the engine of the language looks for none: nearly a gigabyte had been used no more.
 */
export function makeRoom(rows: number, bytes: number): void {
  if (rows <= MANY_ROWS) return;
  made += bytes;
  if (made < BETWEEN_BYTES) return;
  made = 0;
  letGo();
}
