/** One connection holds one pending query: calls wait for their turn. */
export function makeQueue(): <T>(job: () => Promise<T>) => Promise<T> {
  let last: Promise<unknown> = Promise.resolve();
  return (job) => {
    const result = last.then(job, job);
    last = result.catch(() => undefined);
    return result;
  };
}
