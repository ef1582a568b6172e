// @vitest-environment jsdom
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { signal } from '@preact/signals';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pageExecutor } from '../../src/app/executor.ts';
import type { HerdMethods } from '../../src/app/herd-service.ts';
import type { Caller } from '../../src/app/rpc.ts';
import type { Engine } from '../../src/engine/engine.ts';
import type { EntryResult } from '../../src/pages/entry-state.ts';
import type { Entry } from '../../src/pages/page.ts';
import { parsePage } from '../../src/pages/parse-page.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';
import { drawChart } from '../../src/plots/draw-chart.ts';
import { deskOf } from '../herd-desk.ts';
import { openHerdOf, TODAY, tenHorses } from '../ten-horses.ts';

const folder = join(process.cwd(), 'notebooks');
const PAGES = readdirSync(folder).filter((name) => name.endsWith('.md'));

let engine: Engine;
let herd: Caller<HerdMethods>;

beforeAll(async () => {
  engine = await openHerdOf(await tenHorses());
  herd = deskOf(engine, TODAY);
});
afterAll(() => engine.close());

/** What is wrong with an entry's answer: nothing said, a chart that cannot be drawn, a figure that is none. */
function faults(entry: Entry, result: EntryResult | null): string[] {
  if (result?.kind === 'data' && entry.kind === 'chart') {
    const views = Object.values(result.views);
    if (views.some((view) => view.unanswered)) return [];
    drawChart(entry.body, result.views, { width: 720, theme: 'light' });
    return [];
  }
  if (result?.kind !== 'analysis') return [];
  const { findings, unavailable, tables } = result.analysis;
  const said = [...findings, ...unavailable].map(({ sentence }) => sentence);
  const broken = said.filter((sentence) => /NaN|Infinity|undefined|\[object/.test(sentence));
  const infinite = tables.flatMap(({ name, table }) =>
    Object.entries(table.columns)
      .filter(
        ([, column]) =>
          column.type === 'number' &&
          column.values.some((value) => Math.abs(value) === Number.POSITIVE_INFINITY),
      )
      .map(([column]) => `${name}.${column} is not finite`),
  );
  return [...(said.length === 0 ? ['says nothing'] : []), ...broken, ...infinite];
}

describe('a herd of ten horses with one year of visits', () => {
  it.each(PAGES)('%s answers every entry, by a figure or by a sentence', async (name) => {
    const page = parsePage(readFileSync(join(folder, name), 'utf8'));
    const runtime = createPageRuntime(page, pageExecutor(herd, signal(1)));
    await runtime.settled();
    for (const entry of page.entries) {
      const { status, message, result } = runtime.state(entry.name).value;
      expect([entry.name, status, message]).toEqual([entry.name, 'done', null]);
      expect(faults(entry, result), `${name} ${entry.name}`).toEqual([]);
    }
    runtime.dispose();
  });
});
