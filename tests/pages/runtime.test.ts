import { signal } from '@preact/signals';
import { describe, expect, it } from 'vitest';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import { EngineLost } from '../../src/core/engine-lost.ts';
import { makeTable, numberColumn, type Table, textColumn } from '../../src/core/table.ts';
import type { AnalysisOptions, ChoiceValue, PageExecutor } from '../../src/pages/page-executor.ts';
import { parsePage } from '../../src/pages/parse-page.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';

const fence = (info: string, ...body: string[]) => [`\`\`\`${info}`, ...body, '```', ''].join('\n');
const pageOf = (...fences: string[]) => {
  const page = parsePage(`---\ntitle: T\n---\n${fences.join('')}`);
  expect(page.problems).toEqual([]);
  return page;
};

const one = (value: number): Table => makeTable({ a: numberColumn([value]) });
const growthResult = (): AnalysisResult => ({
  analysis: 'growth',
  tables: [{ name: 'estimates', title: 'Estimates', relation: 'trim_cycle', columns: [], table: one(1) }],
  findings: [],
  unavailable: [],
  assumes: [],
  cautions: [],
  method: { name: 'm', source: 's', doc: 'd' },
  counts: { horses: 1, feet: 4, cycles: 9 },
});

/** An executor whose every answer the test decides, and that writes down what it was asked. */
function scripted(
  answer: (name: string, params: Readonly<Record<string, ChoiceValue>>) => Table | Promise<Table>,
) {
  const cohortVersion = signal(0);
  const calls: string[] = [];
  const options: AnalysisOptions[] = [];
  const aborted: string[] = [];
  const dropped: string[] = [];
  const executor: PageExecutor = {
    cohortVersion,
    runQuery(name, _sql, params, abort) {
      calls.push(name);
      abort.addEventListener('abort', () => aborted.push(name));
      return Promise.resolve().then(() => answer(name, params));
    },
    async runAnalysis(name, _use, given, { progress }) {
      calls.push(name);
      options.push(given);
      progress(0.5, 'half way');
      return growthResult();
    },
    async defineColumn(name) {
      calls.push(name);
      await Promise.resolve().then(() => answer(name, {}));
    },
    async dropEntry(name) {
      dropped.push(name);
    },
  };
  return { executor, cohortVersion, calls, options, aborted, dropped };
}

const BREED = fence('choice breed', 'label: Breed', 'kind: list', 'options: [draft, pony]');
const TWO = [
  BREED,
  fence('query by_breed', 'SELECT $breed AS a'),
  fence('query other', 'SELECT 2 AS a'),
  fence('table t', 'of: by_breed'),
  fence('table u', 'of: other'),
];

describe('createPageRuntime', () => {
  it('computes each entry once and passes the values of choices', async () => {
    const seen: unknown[] = [];
    const { executor, calls } = scripted((name, params) => {
      seen.push([name, params]);
      return one(1);
    });
    const runtime = createPageRuntime(pageOf(...TWO), executor);
    await runtime.settled();
    expect(calls).toEqual(['by_breed', 'other']);
    expect(seen).toEqual([
      ['by_breed', { breed: 'draft' }],
      ['other', {}],
    ]);
    for (const name of ['breed', 'by_breed', 'other', 't', 'u']) {
      expect(runtime.state(name).value).toMatchObject({ status: 'done', runs: 1 });
    }
  });

  it('computes again only what depends on a changed choice, and nothing for an unchanged one', async () => {
    const { executor, calls } = scripted((_, params) => one(params.breed === 'pony' ? 7 : 1));
    const runtime = createPageRuntime(pageOf(...TWO), executor);
    await runtime.settled();
    calls.length = 0;
    runtime.setChoice('breed', 'draft');
    await runtime.settled();
    expect(calls).toEqual([]);
    runtime.setChoice('breed', 'pony');
    await runtime.settled();
    expect(calls).toEqual(['by_breed']);
    expect(['by_breed', 't', 'other', 'u'].map((name) => runtime.state(name).value.runs)).toEqual([
      2, 2, 1, 1,
    ]);
    expect(runtime.choices()).toEqual({ breed: 'pony' });
    runtime.setChoice('breed', 'pony');
    await runtime.settled();
    expect(calls).toEqual(['by_breed']);
  });

  it('does not compute again what reads a result that came out the same', async () => {
    const { executor } = scripted(() => one(1));
    const runtime = createPageRuntime(pageOf(...TWO), executor);
    await runtime.settled();
    runtime.setChoice('breed', 'pony');
    await runtime.settled();
    expect(runtime.state('by_breed').value.runs).toBe(2);
    expect(runtime.state('t').value).toMatchObject({ status: 'done', runs: 1 });
  });

  it('computes queries and analyses again when the cohort changes', async () => {
    const { executor, cohortVersion, calls, options } = scripted(() => one(1));
    const page = pageOf(...TWO, fence('analysis g', 'use: growth', 'breed: $breed', 'list: [$breed, plain]'));
    const runtime = createPageRuntime(page, executor);
    await runtime.settled();
    expect(options).toEqual([{ breed: 'draft', list: ['draft', 'plain'] }]);
    cohortVersion.value += 1;
    await runtime.settled();
    expect(calls).toEqual(['by_breed', 'other', 'g', 'by_breed', 'other', 'g']);
    expect(runtime.state('breed').value.runs).toBe(1);
  });

  it('aborts a stale run, drops its late answer, and never runs one name twice at a time', async () => {
    const answers: Record<string, (table: Table) => void> = {};
    const { executor, aborted, calls } = scripted(
      (_, params) =>
        new Promise<Table>((resolve) => {
          answers[String(params.breed)] = resolve;
        }),
    );
    const runtime = createPageRuntime(pageOf(BREED, fence('query q', 'SELECT $breed AS a')), executor);
    await Promise.resolve();
    runtime.setChoice('breed', 'pony');
    expect(aborted).toEqual(['q']);
    expect(calls).toEqual(['q']);
    answers.draft!(one(1));
    await expect.poll(() => Object.keys(answers)).toEqual(['draft', 'pony']);
    expect(runtime.state('q').value.result).toBeNull();
    answers.pony!(one(2));
    await runtime.settled();
    expect(runtime.state('q').value).toMatchObject({ status: 'done', runs: 2, result: { table: one(2) } });
  });

  it('lets a failing entry stop only those that read it, and tries again', async () => {
    let broken = true;
    const { executor } = scripted((name) => {
      if (name === 'by_breed' && broken) throw new Error('no column named bred_type');
      return one(1);
    });
    const runtime = createPageRuntime(pageOf(...TWO), executor);
    await runtime.settled();
    expect(runtime.state('by_breed').value).toMatchObject({
      status: 'failed',
      message: 'no column named bred_type',
    });
    expect(runtime.state('t').value).toMatchObject({ status: 'blocked', message: 'by_breed', result: null });
    expect(runtime.state('u').value.status).toBe('done');
    broken = false;
    runtime.retry('by_breed');
    await runtime.settled();
    expect(runtime.state('t').value).toMatchObject({ status: 'done', message: null });
  });

  it('does not give a new engine what the one before broke over, unless asked', async () => {
    let breaks = true;
    const { executor, cohortVersion, calls } = scripted((name) => {
      if (name === 'by_breed' && breaks) throw new EngineLost('memory access out of bounds');
      // Asked for while there was no engine.
      if (name === 'other' && breaks) throw new EngineLost();
      return one(1);
    });
    const runtime = createPageRuntime(pageOf(...TWO), executor);
    await runtime.settled();
    breaks = false;
    cohortVersion.value += 1;
    await runtime.settled();
    expect(calls).toEqual(['by_breed', 'other', 'other']);
    expect(runtime.state('by_breed').value).toMatchObject({
      status: 'failed',
      message: expect.stringContaining('not tried again by itself'),
    });
    expect(runtime.state('u').value.status).toBe('done');
    runtime.retry('by_breed');
    await runtime.settled();
    expect(runtime.state('t').value.status).toBe('done');
  });

  it('cancels a run on request', async () => {
    const { executor, aborted } = scripted(() => new Promise(() => undefined));
    const runtime = createPageRuntime(pageOf(...TWO), executor);
    runtime.cancel('by_breed');
    expect(aborted).toEqual(['by_breed']);
    expect(runtime.state('by_breed').value.status).toBe('cancelled');
    expect(runtime.state('t').value).toMatchObject({ status: 'blocked', message: 'by_breed' });
  });

  it('fails an entry that refers to nothing, with the line, and the others go on', async () => {
    const { executor, calls } = scripted(() => one(1));
    const page = pageOf(
      fence('query q', 'SELECT $gone'),
      fence('query r', 'SELECT * FROM q'),
      fence('query s', 'SELECT 1'),
    );
    const runtime = createPageRuntime(page, executor);
    await runtime.settled();
    expect(runtime.state('q').value).toMatchObject({
      status: 'failed',
      message: 'line 5: no choice of this page is called $gone',
    });
    expect(runtime.state('r').value.status).toBe('blocked');
    expect(calls).toEqual(['s']);
  });

  it('reads options from a query, and falls back when the chosen one is gone', async () => {
    let breeds: (string | null)[] = ['draft', 'pony', null, 'pony'];
    const { executor, cohortVersion } = scripted((name) =>
      name === 'breeds' ? makeTable({ b: textColumn(breeds) }) : one(1),
    );
    const page = pageOf(
      fence('query breeds', 'SELECT 1 AS b'),
      fence(
        'choice breed',
        'label: Breed',
        'kind: list',
        'options: {of: breeds, value: b}',
        'also: [{value: all, label: All breeds}]',
      ),
    );
    const runtime = createPageRuntime(page, executor, { choices: { breed: 'pony' } });
    await runtime.settled();
    expect(runtime.state('breed').value.result).toEqual({
      kind: 'choice',
      value: 'pony',
      options: [
        { value: 'all', label: 'All breeds' },
        { value: 'draft', label: 'draft' },
        { value: 'pony', label: 'pony' },
      ],
    });
    breeds = ['draft'];
    cohortVersion.value += 1;
    await runtime.settled();
    expect(runtime.choices()).toEqual({ breed: 'all' });
  });

  it('says which tables an analysis has when asked for another', async () => {
    const { executor } = scripted(() => one(1));
    const runtime = createPageRuntime(
      pageOf(fence('analysis g', 'use: growth'), fence('table t', 'of: g.per_hors')),
      executor,
    );
    await runtime.settled();
    expect(runtime.state('t').value.message).toBe('g has no table per_hors: there are estimates');
  });

  it('forgets what it kept when the page is left', async () => {
    const { executor, dropped } = scripted(() => one(1));
    const runtime = createPageRuntime(pageOf(...TWO, fence('analysis g', 'use: growth')), executor);
    await runtime.settled();
    runtime.dispose();
    expect(dropped).toEqual(['by_breed', 'other', 'g']);
  });
});

describe('a query that reads an analysis which could not answer', () => {
  it('says why in the analysis’s words, and so does what reads it, without asking the engine', async () => {
    const { executor, calls } = scripted(() => one(1));
    const sentence = 'There is no trim cycle to learn from.';
    const unable: PageExecutor = {
      ...executor,
      runAnalysis: async () => ({
        ...growthResult(),
        tables: [],
        unavailable: [{ reason: 'no-rows', sentence } as never],
      }),
    };
    const page = pageOf(
      fence('analysis g', 'use: growth'),
      fence('query q', 'SELECT a FROM g.per_horse'),
      fence('query r', 'SELECT a FROM q'),
      fence('table t', 'of: r'),
    );
    const runtime = createPageRuntime(page, unable);
    await runtime.settled();
    expect(calls).toEqual([]);
    expect(runtime.state('r').value).toMatchObject({ status: 'done', result: { unanswered: sentence } });
    expect(runtime.state('t').value.result).toMatchObject({ views: { r: { unanswered: sentence } } });
  });
});
