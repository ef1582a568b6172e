import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { signal } from '@preact/signals';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { LEARNING_HERDS, learningFiles } from '../../data/learning/files.ts';
import { riskAtVisit } from '../../data/learning/truths.ts';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import { pageExecutor } from '../../src/app/executor.ts';
import type { HerdMethods } from '../../src/app/herd-service.ts';
import { pageDesk } from '../../src/app/page-desk.ts';
import type { Caller } from '../../src/app/rpc.ts';
import { makeScenes } from '../../src/app/scenes.ts';
import { readFiles } from '../../src/batch/read-files.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import type { EntryOf } from '../../src/pages/page.ts';
import { parsePage } from '../../src/pages/parse-page.ts';
import type { QuestionResult } from '../../src/pages/question-schema.ts';
import { createPageRuntime, type PageRuntime } from '../../src/pages/runtime.ts';
import { TODAY } from '../ten-horses.ts';

const place = (name: string): string =>
  fileURLToPath(new URL(`../../data/learning/${name}`, import.meta.url));
const page = parsePage(readFileSync(new URL('../../notebooks/learning.md', import.meta.url), 'utf8'));

/** The learning page, or some of its entries, computed over a herd as the browser does it. */
async function learningPage(
  desk: ReturnType<typeof pageDesk>,
  names?: readonly string[],
  where: string | null = null,
): Promise<PageRuntime> {
  const call = (name: 'runQuery', params: never, options: { signal: AbortSignal }) =>
    desk[name](params, { signal: options.signal, progress: () => undefined });
  const herd = { call } as unknown as Caller<HerdMethods>;
  const entries = page.entries.filter(({ name }) => names?.includes(name) ?? true);
  const executor = pageExecutor(herd, signal(0), { side: where === null ? 'left' : 'right', where });
  const runtime = createPageRuntime({ ...page, entries }, executor);
  await runtime.settled();
  return runtime;
}

async function openFiles(names: readonly string[]): Promise<Engine> {
  const files = names.map((name) => ({ path: place(name), name, keys: {} }));
  const { admitted, horses, report } = await readFiles(files, null, TODAY);
  expect(report.setAside).toBe(0);
  const engine = await openNodeEngine();
  await loadHerd(engine, { visits: admitted, horses }, { hemisphere: 'north' });
  await setToday(engine, TODAY);
  return engine;
}

/** Draft horses' crude growth less that of ponies, by herd. */
const draftLessPony = new Map<string, number>();

function level(runtime: PageRuntime, name: string): number {
  const { result } = runtime.state('plain_growth').value;
  if (result?.kind !== 'analysis') throw new Error('growth must have been worked out');
  const { columns } = result.analysis.tables.find((table) => table.name === 'levels')!.table;
  return columns.estimate!.values[columns.level!.values.indexOf(name as never)] as number;
}

/** How the plain way errs, by question and herd. */
const LEANS = {
  waiting_ratio: { first: 'high', second: 'low' },
  draft_growth: { first: 'high', second: 'low' },
  frog_onset: { first: 'low', second: 'low' },
} as const;

it('the risk at a visit is right where it can be worked out otherwise', () => {
  // Constant rates (k = 1): a/(a + b)·(1 − e^(−(a + b)d)), for a = 0.1 and b = 0.3 a day over 4 days.
  expect(riskAtVisit(0.1 * 4, 1, 0.3, 4)).toBeCloseTo(0.25 * (1 - Math.exp(-1.6)), 8);
  // Nothing clears: 1 − e^(−H).
  expect(riskAtVisit(0.7, 1.8, 0, 50)).toBeCloseTo(1 - Math.exp(-0.7), 8);
});

describe.each(LEARNING_HERDS)('the %s learning herd', (herd) => {
  const truth = JSON.parse(readFileSync(place(`${herd}-truth.json`), 'utf8'));
  let engine: Engine;
  let desk: ReturnType<typeof pageDesk>;
  const results = new Map<string, { entry: EntryOf<'question'>; result: QuestionResult }>();
  const unwell: string[] = [];

  beforeAll(async () => {
    engine = await openFiles([`${herd}-visits.parquet`, `${herd}-horses.parquet`]);
    desk = pageDesk(engine, TODAY, makeScenes(engine));
    const runtime = await learningPage(desk);
    draftLessPony.set(herd, level(runtime, 'draft') - level(runtime, 'pony'));
    for (const entry of page.entries) {
      const { status, message, result } = runtime.state(entry.name).value;
      if (status !== 'done') unwell.push(`${entry.name} ${status} ${message}`);
      if (entry.kind === 'question' && result?.kind === 'question')
        results.set(entry.name, { entry, result });
    }
  }, 60_000);
  afterAll(() => engine.close());

  const asked = (name: string) => {
    const { entry, result } = results.get(name)!;
    const answer = entry.body.answers[herd]!;
    return { ...result, answer, truth: Number(answer.truth) };
  };

  it('is what the generator makes', () => {
    const made = learningFiles(herd);
    const differing = Object.keys(made).filter(
      (name) => !Buffer.from(made[name]! as string).equals(readFileSync(place(name))),
    );
    expect(Object.keys(made)).toHaveLength(3);
    expect(differing).toEqual([]);
  });

  it('is known by the page, which works out every question', () => {
    expect(unwell).toEqual([]);
    expect(results.size).toBe(6);
    for (const { result } of results.values()) {
      expect(result.herd).toBe(herd);
      expect(result.naive.estimate).not.toBeNull();
      expect(result.right.low).not.toBeNull();
      expect(result.right.horses).toBeGreaterThan(0);
    }
  });

  it('is not taken for known where part of it is in view', async () => {
    const runtime = await learningPage(desk, ['which', 'herds'], "foot <> 'LF'");
    expect(runtime.state('herds').value.result).toEqual({ kind: 'samples', herd: null });
  });

  it('has on the page the truths that were put in', () => {
    const put = truth.asked;
    expect(asked('waiting_ratio').truth).toBeCloseTo(put.timesTheRisk10To5Weeks, 2);
    expect(asked('draft_growth').truth).toBeCloseTo(put.draftNetGrowthMmPer30dOnHerdsGround, 2);
    expect(asked('return_90').truth).toBeCloseTo(put.shareReturned90Days, 2);
    expect(asked('frog_onset').truth).toBe(put.frogOnsetPerFootYearWet);
    expect(asked('one_horse').truth).toBeCloseTo(put.fewVisits.netGrowthMmPer30d, 2);
    expect(asked('leaning').answer.truth).toBe(herd === 'first' ? 'more' : 'less');
  });

  it.each(['waiting_ratio', 'draft_growth', 'return_90', 'frog_onset', 'one_horse'])(
    'the interval of the right way holds the truth of %s, and its figure would be taken for an answer; the plain one not',
    (name) => {
      const { naive, right, answer, truth: t } = asked(name);
      expect(right.low!).toBeLessThanOrEqual(t);
      expect(right.high!).toBeGreaterThanOrEqual(t);
      if (!('accept' in answer)) throw new Error('a number was asked for');
      const taken = (value: number): boolean => value >= answer.accept.low && value <= answer.accept.high;
      expect([taken(right.estimate!), taken(naive.estimate!)]).toEqual([true, false]);
      expect(Math.abs(right.estimate! - t)).toBeLessThan(Math.abs(naive.estimate! - t));
    },
  );

  it.each(['waiting_ratio', 'draft_growth', 'frog_onset'] as const)(
    'the plain way errs in %s on the side that was meant',
    (name) => {
      const { naive, truth: t } = asked(name);
      const isHigh = LEANS[name][herd] === 'high';
      const end = isHigh ? (naive.low ?? naive.estimate!) : (naive.high ?? naive.estimate!);
      expect(isHigh ? end > t : end < t, `${end} against ${t}`).toBe(true);
    },
  );
});

it('turns the sign of the crude comparison of breed types from one herd to the other', () => {
  expect(LEARNING_HERDS.map((herd) => Math.sign(draftLessPony.get(herd)!))).toEqual([1, -1]);
});
