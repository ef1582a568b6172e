import { signal } from '@preact/signals';
import { describe, expect, it } from 'vitest';
import { makeTable, numberColumn, type Table } from '../../src/core/table.ts';
import type { PageExecutor } from '../../src/pages/page-executor.ts';
import { parsePage } from '../../src/pages/parse-page.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';

const fence = (info: string, ...body: string[]) => [`\`\`\`${info}`, ...body, '```', ''].join('\n');
const pageOf = (...parts: string[]) => parsePage(`---\ntitle: T\n---\n${parts.join('')}`);
const one = (value: number): Table => makeTable({ a: numberColumn([value]) });

function scripted(answer: (name: string, sql: string) => Table | Promise<Table> = () => one(1)) {
  const calls: string[] = [];
  const dropped: string[] = [];
  const executor: PageExecutor = {
    cohortVersion: signal(0),
    runQuery(name, sql) {
      calls.push(name);
      return Promise.resolve().then(() => answer(name, sql));
    },
    runAnalysis: () => Promise.reject(new Error('not asked here')),
    async defineColumn(name) {
      calls.push(name);
    },
    async dropEntry(name) {
      dropped.push(name);
    },
  };
  return { executor, calls, dropped };
}

const BASE = fence('query base', 'SELECT 1 AS a');
const OTHER = fence('query other', 'SELECT 2 AS a');
const READER = fence('query reader', 'SELECT a FROM base');

async function standing(...parts: string[]) {
  const script = scripted();
  const runtime = createPageRuntime(pageOf(...parts), script.executor);
  await runtime.settled();
  script.calls.length = 0;
  const put = async (...next: string[]) => {
    runtime.replacePage(pageOf(...next));
    await runtime.settled();
    return script.calls.splice(0);
  };
  return { ...script, runtime, put };
}

describe('replacePage', () => {
  it('computes nothing again when only text, comments and places change', async () => {
    const chart = fence('table t', 'of: base', 'limit: 3');
    const { put, runtime } = await standing(BASE, OTHER, READER, chart);
    expect(
      await put('Some words.\n\n', OTHER, BASE, fence('table t', '# said', 'limit: 3', 'of: base'), READER),
    ).toEqual([]);
    expect(runtime.state('t').value).toMatchObject({ status: 'done', runs: 1 });
    expect(runtime.state('reader').value).toMatchObject({ status: 'done', runs: 1 });
  });

  it('computes an entry that was changed and what reads it, and nothing else', async () => {
    const { put, runtime } = await standing(BASE, OTHER, READER);
    expect(await put(fence('query base', 'SELECT 5 AS a'), OTHER, READER)).toEqual(['base']);
    // The changed query gave the same rows as before: its reader has nothing new to read.
    expect(runtime.state('reader').value.runs).toBe(1);
    expect(runtime.state('base').value.runs).toBe(2);
  });

  it('computes the readers when the changed entry gives other rows', async () => {
    const script = scripted((_, sql) => one(sql.includes('5') ? 5 : 1));
    const runtime = createPageRuntime(pageOf(BASE, OTHER, READER), script.executor);
    await runtime.settled();
    script.calls.length = 0;
    runtime.replacePage(pageOf(fence('query base', 'SELECT 5 AS a'), OTHER, READER));
    await runtime.settled();
    expect(script.calls).toEqual(['base', 'reader']);
  });

  it('drops what left the page, and explains it to what had read it', async () => {
    const { put, runtime, dropped } = await standing(BASE, OTHER, READER);
    expect(await put(OTHER, fence('table t', 'of: base'))).toEqual([]);
    expect(dropped.sort()).toEqual(['base', 'reader']);
    expect(() => runtime.state('base')).toThrow('entry must stand on the page: base');
    expect(runtime.state('t').value.status).toBe('failed');
    expect(runtime.state('t').value.message).toContain('no entry of this page is called base');
    expect(await put(OTHER, BASE, fence('table t', 'of: base'))).toEqual(['base']);
    expect(runtime.state('t').value.status).toBe('done');
  });

  it('computes a query that comes to read another one, though its text is the same', async () => {
    const { put } = await standing(READER);
    expect(await put(READER, BASE)).toEqual(['base', 'reader']);
  });

  it('takes up an entry again once a ring is undone', async () => {
    const ring = fence('query base', 'SELECT a FROM reader');
    const { put, runtime } = await standing(BASE, READER);
    await put(ring, READER);
    expect(runtime.state('reader').value.message).toContain('in a ring');
    expect((await put(BASE, READER)).sort()).toEqual(['base', 'reader']);
    expect(runtime.state('reader').value.status).toBe('done');
  });

  it('keeps what was chosen while the page around the choice changes', async () => {
    const choice = fence('choice n', 'kind: range', 'label: N', 'min: 1', 'max: 9');
    const { put, runtime } = await standing(choice, fence('query base', 'SELECT $n AS a'));
    runtime.setChoice('n', 4);
    await put(choice, fence('query base', 'SELECT $n + 1 AS a'));
    expect(runtime.choices()).toEqual({ n: 4 });
  });

  it('never runs two computations under one name', async () => {
    let release: () => void = () => undefined;
    let running = 0;
    let most = 0;
    const { executor } = scripted(async () => {
      running += 1;
      most = Math.max(most, running);
      await new Promise<void>((done) => {
        release = done;
      });
      running -= 1;
      return one(1);
    });
    const runtime = createPageRuntime(pageOf(BASE), executor);
    await Promise.resolve();
    runtime.replacePage(pageOf('No entries.\n'));
    runtime.replacePage(pageOf(fence('query base', 'SELECT 9 AS a')));
    for (let turn = 0; turn < 20; turn += 1) {
      await new Promise((done) => setTimeout(done, 0));
      release();
    }
    await runtime.settled();
    expect(most).toBe(1);
    expect(runtime.state('base').value.status).toBe('done');
  });

  it('computes what names a derived column of the page when its expression changes', async () => {
    const column = (expression: string) =>
      fence('column ratio', 'on: foot_visit', `expression: ${expression}`);
    const query = fence('query base', 'SELECT avg(ratio) AS a FROM foot_visit');
    const { put, runtime } = await standing(column('toe_after_mm / heel_after_mm'), query, OTHER);
    expect(runtime.graph().uses.get('base')).toEqual(['ratio']);
    expect(await put(column('toe_after_mm'), query, OTHER)).toEqual(['ratio', 'base']);
  });
});
