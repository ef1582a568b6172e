import { type Apart, JOBS, type JobName } from '../../src/analyses/apart.ts';

/** Fits as another thread makes them: numbers go there and come back as copies. Notes in `asked` what was asked for. */
export function clonedApart(asked: JobName[]): Apart {
  return (async (job: JobName, input: never) => {
    asked.push(job);
    const work = JOBS[job] as (input: never, pause: () => Promise<void>) => Promise<unknown>;
    return structuredClone(await work(structuredClone(input), async () => undefined));
  }) as Apart;
}
