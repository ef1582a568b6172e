// Measures some of the simulated herds in a process of its own: forked by run.ts with the first and last herd.
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { measureGrowth } from './measure-growth.ts';
import { measureCracks, measureFrog, measureInterval, measureReturn } from './measure-problems.ts';
import type { Measured } from './measured.ts';
import { type Followed, simulatedHerds, tablesOf, trueReturns } from './simulated-herd.ts';

export interface HerdMeasured {
  readonly measured: readonly Measured[];
  readonly returns: { readonly seen: readonly Followed[]; readonly any: readonly Followed[] };
}

const [from, to] = process.argv.slice(2).map(Number) as [number, number];
const engine = await openNodeEngine();
for (const histories of simulatedHerds(from, to)) {
  await loadHerd(engine, tablesOf(histories), { hemisphere: 'north' });
  const message: HerdMeasured = {
    measured: [
      ...(await measureGrowth(engine, histories)),
      ...(await measureInterval(engine)),
      ...(await measureCracks(engine)),
      ...(await measureFrog(engine)),
      ...(await measureReturn(engine)),
    ],
    returns: trueReturns(histories),
  };
  await new Promise((sent) => process.send!(message, sent));
}
await engine.close();
process.disconnect();
