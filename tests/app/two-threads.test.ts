import { MessageChannel } from 'node:worker_threads';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import { makeMemory } from '../../src/analyses/memory.ts';
import { type Analyst, analystOver } from '../../src/app/analyst.ts';
import { type LentEngine, lentEngine } from '../../src/app/lent-engine.ts';
import { pageDesk } from '../../src/app/page-desk.ts';
import { serve } from '../../src/app/rpc.ts';
import { makeScenes, type Scene } from '../../src/app/scenes.ts';
import { AnalystGone, twoThreads } from '../../src/app/two-threads.ts';
import { type CivilDay, dayFromIso, isoFromDay } from '../../src/core/civil-day.ts';
import { makeTable, textColumn } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { visitTable } from '../herd-fixture.ts';

const answer = (analysis: string): AnalysisResult => ({ analysis }) as AnalysisResult;
const nobody: Analyst = { answer: async () => answer('there'), work: async () => 'made there' };

/** A job that ends when it is told to. */
function waiting(name: string) {
  let end = (): void => undefined;
  const job = () =>
    new Promise<AnalysisResult>((resolve) => {
      end = () => resolve(answer(name));
    });
  return { job, end: () => end() };
}

describe('sharing out analyses', () => {
  it('leaves one that comes alone to this thread', async () => {
    const { answer: share } = twoThreads(() => nobody);
    for (const use of ['growth', 'drift', 'growth']) {
      expect(
        await share(
          use,
          async () => answer('here'),
          async () => answer('there'),
        ),
      ).toEqual(answer('here'));
    }
  });

  it('gives every second one to the other thread, and one that shares a fit to the thread that is at it', async () => {
    const { answer: share } = twoThreads(() => nobody);
    const [first, second] = [waiting('here'), waiting('there')];
    const here = async () => answer('here');
    const there = async () => answer('there');
    const one = share('growth', first.job, there);
    const two = share('grow-out', here, second.job);
    expect(await share('one-horse', here, there)).toEqual(answer('there'));
    expect(await share('growth', here, there)).toEqual(answer('here'));
    second.end();
    expect(await two).toEqual(answer('there'));
    first.end();
    expect(await one).toEqual(answer('here'));
  });

  it('gives what comes next to the thread that has less to do, but keeps here what has its fits shared out', async () => {
    const { answer: share } = twoThreads(() => nobody);
    const waits = Array.from({ length: 3 }, (_, k) => waiting(`${k}`));
    const here = async () => answer('here');
    const there = async () => answer('there');
    const long = share('growth', waits[0]!.job, there);
    const short = share('wear', here, waits[1]!.job);
    // Two are under way in two threads: the one over there is the shorter.
    expect(await share('drift', here, there)).toEqual(answer('there'));
    const shared = share('recurrence', waits[2]!.job, there);
    for (const { end } of waits) end();
    expect((await Promise.all([long, short, shared])).map(({ analysis }) => analysis)).toEqual([
      '0',
      '1',
      '2',
    ]);
  });

  it('does here what the other thread left undone when it ended, and asks it no more', async () => {
    let asked = 0;
    const { answer: share } = twoThreads(() => {
      asked += 1;
      return nobody;
    });
    const first = waiting('here');
    const one = share('growth', first.job, async () => answer('there'));
    const two = share(
      'drift',
      async () => answer('here'),
      () => Promise.reject(new AnalystGone('out of memory')),
    );
    expect(await two).toEqual(answer('here'));
    expect(
      await share(
        'wear',
        async () => answer('here'),
        async () => answer('there'),
      ),
    ).toEqual(answer('here'));
    first.end();
    await one;
    expect(asked).toBe(2);
  });

  it('tells of an analysis that failed over there as of one that failed here', async () => {
    const { answer: share } = twoThreads(() => nobody);
    const first = waiting('here');
    const one = share('growth', first.job, async () => answer('there'));
    const failing = share(
      'drift',
      async () => answer('here'),
      () => Promise.reject(new RangeError('weeks must')),
    );
    await expect(failing).rejects.toThrow('weeks must');
    first.end();
    await one;
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
  function analyst(): { readonly asked: string[]; readonly other: Analyst } {
    const { port1, port2 } = new MessageChannel();
    ports.push(port1);
    serve<LentEngine>(port1 as unknown as MessagePort, lentEngine(engine));
    const asked: string[] = [];
    const other = analystOver(port2 as unknown as MessagePort);
    return {
      asked,
      other: {
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
    const { asked, other } = analyst();
    const context = { signal: new AbortController().signal, progress: () => undefined };
    const desk = (otherThread: () => Analyst | null) =>
      pageDesk(engine, TODAY, makeScenesOnce(), makeMemory(), otherThread);
    const run = (each: ReturnType<typeof desk>, uses: readonly string[]) =>
      Promise.all(
        uses.map((use) =>
          each.runAnalysis({ scene: SCENE, name: use, use, options: {}, lengths: 'in' }, context),
        ),
      );
    const several = ['growth', 'drift', 'prevalence', 'spells'];
    const alone = await run(
      desk(() => null),
      several,
    );
    const shared = await run(
      desk(() => other),
      several,
    );
    expect(asked.length).toBeGreaterThan(0);
    expect(structuredClone(shared)).toEqual(structuredClone(alone));

    // A question that comes alone has some of its fits made over there.
    asked.length = 0;
    const parted = await run(
      desk(() => other),
      ['recurrence'],
    );
    expect(asked).toContain('turnbull replicates');
    expect(structuredClone(parted)).toEqual(
      structuredClone(
        await run(
          desk(() => null),
          ['recurrence'],
        ),
      ),
    );
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
    const question = {
      use: 'growth',
      options: {},
      lengths: 'mm',
      today: TODAY,
      cohort: 'all',
      rows: 1,
      keepsHerd: true,
    } as const;
    await expect(other.answer(question, { signal: stop.signal, progress: () => undefined })).rejects.toThrow(
      /abort/i,
    );
  });

  it('forgets what it worked out when the rows have changed', async () => {
    const { other } = analyst();
    const context = { signal: new AbortController().signal, progress: () => undefined };
    const ask = (rows: number) =>
      other.answer(
        { use: 'growth', options: {}, lengths: 'mm', today: TODAY, cohort: 'all', rows, keepsHerd: true },
        context,
      );
    const before = await ask(1);
    const horses = makeTable({ horse_id: textColumn([]) });
    const fewer = visitTable(VISITS.filter(({ horse_id }) => horse_id !== 'E'));
    await loadHerd(engine, { visits: fewer, horses }, { hemisphere: 'north' });
    expect((await ask(2)).counts.horses).toBe(before.counts.horses - 1);
  });
});
