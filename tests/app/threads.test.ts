import { MessageChannel } from 'node:worker_threads';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import { makeMemory } from '../../src/analyses/memory.ts';
import { type Analyst, analystOver } from '../../src/app/analyst.ts';
import { type LentMethods, lentMethods } from '../../src/app/lent-engine.ts';
import { pageDesk } from '../../src/app/page-desk.ts';
import { serve } from '../../src/app/rpc.ts';
import { makeScenes, type Scene } from '../../src/app/scenes.ts';
import { AnalystGone, shareOut, type Threads } from '../../src/app/threads.ts';
import { type CivilDay, dayFromIso, isoFromDay } from '../../src/core/civil-day.ts';
import { makeTable, textColumn } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { type LimitTask, shareLimit } from '../../src/stats/turnbull-limits.ts';
import { visitTable } from '../herd-fixture.ts';

const answer = (analysis: string): AnalysisResult => ({ analysis }) as AnalysisResult;
const named = (name: string): Analyst => ({
  listens: async () => null,
  answer: async () => answer(name),
  work: async () => name,
});
const [one, two] = [named('one'), named('two')];
const QUESTION = {
  options: {},
  lengths: 'mm',
  today: dayFromIso('2026-06-01') as CivilDay,
  cohort: 'all',
  rows: 1,
  keepsHerd: true,
  sharesFits: false,
} as const;
const context = (signal = new AbortController().signal) => ({ signal, progress: () => undefined });

/** Threads of which it is noted which was asked for which analysis; the answers wait until they are told to end. */
function noted(analysts: readonly Analyst[]) {
  const threads = shareOut(() => analysts);
  const asked: [string, Analyst | 'here'][] = [];
  const ends: (() => void)[] = [];
  const hold = (): Promise<AnalysisResult> => new Promise((resolve) => ends.push(() => resolve(answer('a'))));
  const ask = (use: string): Promise<AnalysisResult> =>
    threads.answer(
      use,
      () => {
        asked.push([use, 'here']);
        return hold();
      },
      (analyst) => {
        asked.push([use, analyst]);
        return hold();
      },
    );
  const end = (): void => {
    for (const each of ends.splice(0)) each();
  };
  return { asked, ask, end };
}

describe('sharing out analyses', () => {
  it('gives each to the thread that has less to do, and one that shares a fit to the thread that is at it', async () => {
    const { asked, ask, end } = noted([one, two]);
    const all = ['recurrence', 'onset-clearing', 'wear', 'interval-plan', 'one-horse', 'drift'].map(ask);
    expect(asked).toEqual([
      ['recurrence', one],
      ['onset-clearing', two],
      ['wear', two],
      ['interval-plan', two],
      ['one-horse', two],
      ['drift', one],
    ]);
    end();
    await Promise.all(all);
  });

  it('has both looks of Grow-out go side by side, and two questions of one analysis else in one thread', async () => {
    const { asked, ask, end } = noted([one, two]);
    const all = ['grow-out', 'grow-out', 'growth', 'growth'].map(ask);
    expect(asked).toEqual([
      ['grow-out', one],
      ['grow-out', two],
      ['growth', one],
      ['growth', one],
    ]);
    end();
    await Promise.all(all);
  });

  it('works out here where there is no other thread', async () => {
    const { asked, ask, end } = noted([]);
    const growth = ask('growth');
    end();
    await growth;
    expect(asked).toEqual([['growth', 'here']]);
  });

  it('does here what a thread left undone when it ended, and asks it no more', async () => {
    const threads = shareOut(() => [one, two]);
    const undone = await threads.answer(
      'growth',
      async () => answer('here'),
      () => Promise.reject(new AnalystGone('out of memory')),
    );
    expect(undone).toEqual(answer('here'));
    const told: (readonly [Analyst, boolean])[] = [];
    const ask = async (analyst: Analyst, sharesFits: boolean) => {
      told.push([analyst, sharesFits]);
      return answer('there');
    };
    for (const use of ['growth', 'wear']) await threads.answer(use, async () => answer('here'), ask);
    // With no third thread there is nobody to share fits with.
    expect(told).toEqual([
      [two, false],
      [two, false],
    ]);
  });

  it('makes here the fit of a thread that ended, and gives it no other', async () => {
    const ended: Analyst = { ...one, work: () => Promise.reject(new AnalystGone('out of memory')) };
    const { fit: makeFit } = shareOut(() => [ended, two]);
    const data = { left: Float64Array.of(1, 2), right: Float64Array.of(3, 4) };
    const limit = { data, clusterOf: Int32Array.of(0, 1), at: 2, tail: 0.025, side: 'high', from: 0.5 };
    const own = await makeFit({ job: 'turnbull limit', input: limit }, context());
    expect(own).toBe(shareLimit(limit as LimitTask));
    expect(await makeFit({ job: 'turnbull limit', input: limit }, context())).toBe('two');
  });

  it('tells of an analysis that failed over there as of one that failed here', async () => {
    const { answer: share } = shareOut(() => [one]);
    const failing = share(
      'drift',
      async () => answer('here'),
      () => Promise.reject(new RangeError('weeks must')),
    );
    await expect(failing).rejects.toThrow('weeks must');
  });
});

const TODAY = dayFromIso('2026-06-01') as CivilDay;
const SCENE: Scene = { side: 'left', where: null, version: 1, columns: [] };
const VISITS = ['A', 'B', 'C', 'D', 'E'].flatMap((horse_id, h) =>
  Array.from({ length: 9 }, (_, k) => ({
    horse_id,
    visit_date: isoFromDay((dayFromIso('2025-01-06')! + 40 * k + h) as CivilDay),
    foot: 'LF',
    breed_type: h > 2 ? 'pony' : 'draft',
    toe_before_mm: 90 + ((k + h) % 3),
    toe_after_mm: 80,
    angle_before_deg: 50 + (k % 2),
    angle_after_deg: 51,
    separation_grade: k % 4 === 0 ? 1 : 0,
  })),
);

describe('the other thread', () => {
  let engine: Engine;
  const memory = makeMemory();
  const ports: { close(): void }[] = [];

  beforeAll(async () => {
    engine = await openNodeEngine();
  });
  beforeEach(() =>
    memory.during(async () => {
      const horses = makeTable({ horse_id: textColumn([]) });
      await loadHerd(engine, { visits: visitTable(VISITS), horses }, { hemisphere: 'north' });
      await setToday(engine, TODAY);
    }),
  );
  afterAll(async () => {
    for (const port of ports) port.close();
    await engine.close();
  });

  /** An analyst at the other end of a channel, with what it was asked. */
  function analyst(makeFit: Threads['fit'] = async () => null): {
    readonly asked: string[];
    readonly other: Analyst;
  } {
    const { port1, port2 } = new MessageChannel();
    ports.push(port1);
    serve<LentMethods>(port1 as unknown as MessagePort, lentMethods(engine, makeFit));
    const asked: string[] = [];
    const other = analystOver(port2 as unknown as MessagePort);
    return {
      asked,
      other: {
        listens: other.listens,
        answer(question, context) {
          asked.push(question.use);
          return other.answer(question, context);
        },
        work(task, context) {
          asked.push(task.job);
          return other.work(task, context);
        },
      },
    };
  }

  it('gives to the letter what this thread gives, sentences in the unit asked for', async () => {
    const desk = (threads?: Threads) => pageDesk(engine, TODAY, makeScenesOnce(), makeMemory(), threads);
    const run = (each: ReturnType<typeof desk>, uses: readonly string[]) =>
      Promise.all(
        uses.map((use) =>
          each.runAnalysis({ scene: SCENE, name: use, use, options: {}, lengths: 'in' }, context()),
        ),
      );
    const several = ['growth', 'drift', 'prevalence', 'spells', 'recurrence'];
    const alone = await run(desk(), several);
    const threads = shareOut(() => analysts.map(({ other }) => other));
    const analysts = [analyst(threads.fit), analyst(threads.fit)];
    const shared = await run(desk(threads), several);
    for (const { asked } of analysts) expect(several.some((use) => asked.includes(use))).toBe(true);
    expect(analysts.flatMap(({ asked }) => asked)).toContain('turnbull replicates');
    expect(structuredClone(shared)).toEqual(structuredClone(alone));
  });

  let scenes: ReturnType<typeof makeScenes> | null = null;
  /** They make databases of their own in the engine. */
  function makeScenesOnce(): ReturnType<typeof makeScenes> {
    scenes ??= makeScenes(engine);
    return scenes;
  }

  it('is told when it is no longer wanted', async () => {
    const { other } = analyst();
    const stop = new AbortController();
    stop.abort();
    const asked = other.answer({ ...QUESTION, use: 'growth' }, context(stop.signal));
    await expect(asked).rejects.toThrow(/abort/i);
  });

  it('forgets what it worked out when the rows have changed', async () => {
    const { other } = analyst();
    const ask = (rows: number) => other.answer({ ...QUESTION, use: 'growth', rows }, context());
    const before = await ask(1);
    const horses = makeTable({ horse_id: textColumn([]) });
    const fewer = visitTable(VISITS.filter(({ horse_id }) => horse_id !== 'E'));
    await loadHerd(engine, { visits: fewer, horses }, { hemisphere: 'north' });
    expect((await ask(2)).counts.horses).toBe(before.counts.horses - 1);
  });
});
