import { describe, expect, it } from 'vitest';
import { askAhead } from '../../src/engine/engine-start.ts';

const WASM = 'http://127.0.0.1/engine.wasm';
const BYTES = Uint8Array.from({ length: 1000 }, (_, i) => i % 251);

/** A worker's scope that answers with `BYTES` in pieces of 7. */
function scopeOf(status = 200) {
  const asked: string[] = [];
  const reported: unknown[] = [];
  const answer = () =>
    new ReadableStream<Uint8Array>({
      start(control) {
        for (let at = 0; at < BYTES.length; at += 7) control.enqueue(BYTES.slice(at, at + 7));
        control.close();
      },
    });
  const fetched = async (input: unknown) => {
    asked.push(input instanceof Request ? input.url : String(input));
    return new Response(answer(), { status, headers: { 'content-type': 'application/wasm' } });
  };
  const scope = { fetch: fetched as typeof fetch, reportError: (error: unknown) => reported.push(error) };
  return { scope, asked, reported, plain: fetched };
}

async function piecesOf(answer: Response): Promise<Uint8Array[]> {
  const pieces: Uint8Array[] = [];
  for await (const piece of answer.body as unknown as AsyncIterable<Uint8Array>) pieces.push(piece);
  return pieces;
}

describe('askAhead', () => {
  it('asks for the wasm at once, and hands the one answer over in larger pieces, every byte in its place', async () => {
    const { scope, asked, reported, plain } = scopeOf();
    // As the worker runs it: by its text alone.
    const run = new Function(`return ${askAhead}`)() as typeof askAhead;
    run(scope, WASM, 100);
    expect(asked).toEqual([WASM]);
    await scope.fetch('http://127.0.0.1/other');
    const answer = await scope.fetch(new Request(WASM));
    expect(asked).toEqual([WASM, 'http://127.0.0.1/other']);
    expect(answer.headers.get('content-type')).toBe('application/wasm');
    const pieces = await piecesOf(answer);
    expect(Buffer.concat(pieces)).toEqual(Buffer.from(BYTES));
    expect(pieces.slice(0, -1).every((piece) => piece.length >= 100)).toBe(true);
    expect(pieces.length).toBeLessThan(11);
    expect(scope.fetch).toBe(plain);
    expect(reported).toEqual([]);
  });

  it('reports an engine that is not there', async () => {
    const { scope, reported } = scopeOf(404);
    askAhead(scope, WASM, 100);
    await new Promise((resolve) => setTimeout(resolve, 0));
    expect(String(reported[0])).toContain('404');
  });
});
