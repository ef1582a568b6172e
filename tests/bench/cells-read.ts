/**
 * `npx tsx tests/bench/cells-read.ts`: the cells that each analysis takes out of the engine, on the demo herd and with the
 * options of an audit, each run by itself; of several runs the most. Kept in docs/cells-read.json, told in docs/scale.md.
 */
import { analysisNamed } from '../../src/analyses/index.ts';
import { makeMemory } from '../../src/analyses/memory.ts';
import { AUDIT_PLAN } from '../../src/batch/audit-plan.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { demoTables, openHerdOf, TODAY } from '../ten-horses.ts';
import { keepCellsRead } from './cells-text.ts';
import { writeDocuments } from './documents.ts';

const tables = await demoTables();
const herd = await openHerdOf(tables);
let cells = 0;
const counting: Engine = {
  ...herd,
  async query(sql, signal) {
    const table = await herd.query(sql, signal);
    cells += table.rowCount * Object.keys(table.columns).length;
    return table;
  },
};
const most = new Map<string, number>();
for (const { use, options } of AUDIT_PLAN) {
  cells = 0;
  const analysis = analysisNamed(use);
  await analysis.run(analysis.options.parse(options), {
    engine: counting,
    today: TODAY,
    lengths: 'mm',
    signal: new AbortController().signal,
    progress: () => undefined,
    remember: makeMemory().over('the whole herd').remember,
  });
  const each = Number((cells / tables.visits.rowCount).toPrecision(3));
  most.set(use, Math.max(each, most.get(use) ?? 0));
  console.log(`${use}: ${each} cells a foot row`);
}
await herd.close();
keepCellsRead(Object.fromEntries(most));
writeDocuments();
process.exit(0);
