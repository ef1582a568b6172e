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
