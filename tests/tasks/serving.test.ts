import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import { build, type InlineConfig, type PreviewServer, preview } from 'vite';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ENGINE_BYTES } from '../../src/engine/browser-engine.ts';
import { assetAsked, hashedAssets, takesCoding } from '../../src/tasks/hashed-assets.ts';
import { META_POLICY, POLICY, securityHeaders } from '../../src/tasks/security-headers.ts';

/** A page as small as can be, built and served as the real one is. */
const LONG = `export const words = ${JSON.stringify('toe and heel '.repeat(500))};\n`;
let folder: string;
let server: PreviewServer;
let origin: string;
let html: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'growout-serving-'));
  writeFileSync(
    join(folder, 'index.html'),
    '<!doctype html><html><head><script type="module" src="./main.js"></script></head></html>',
  );
  writeFileSync(join(folder, 'words.js'), LONG);
  writeFileSync(
    join(folder, 'main.js'),
    "import { words } from './words.js';\nimport wasm from './some.wasm?url';\ndocument.title = words + wasm;\n",
  );
  writeFileSync(join(folder, 'some.wasm'), Buffer.alloc(5000, 'wasm'));
  const config: InlineConfig = {
    root: folder,
    base: './',
    appType: 'mpa',
    configFile: false,
    logLevel: 'error',
    plugins: [securityHeaders(), hashedAssets()],
    build: { outDir: 'dist', assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  };
  await build(config);
  server = await preview({ ...config, preview: { host: '127.0.0.1', port: 0 } });
  origin = `http://127.0.0.1:${(server.httpServer.address() as AddressInfo).port}`;
  html = readFileSync(join(folder, 'dist', 'index.html'), 'utf8');
});
afterAll(async () => {
  await server.close();
  rmSync(folder, { recursive: true, force: true });
});

const script = (): string => /assets\/[\w.-]+\.js/.exec(html)?.[0] ?? '';
const wasm = (): string => {
  const text = readFileSync(join(folder, 'dist', script()), 'utf8');
  return `assets/${/some-[\w-]+\.wasm/.exec(text)?.[0]}`;
};

describe('the policy', () => {
  it('allows nothing but our own origin: no eval, no inline script, no other host', () => {
    const rules = new Map(POLICY.split('; ').map((rule) => [rule.split(' ')[0], rule.split(' ').slice(1)]));
    expect(rules.get('default-src')).toEqual(["'none'"]);
    expect(rules.get('connect-src')).toEqual(["'self'"]);
    expect(rules.get('script-src')).toEqual(["'self'", "'wasm-unsafe-eval'"]);
    const allowed = [...rules.values()].flat();
    expect(allowed).not.toContain("'unsafe-eval'");
    expect(allowed.filter((source) => /\*|:\/\/|https?:/.test(source ?? ''))).toEqual([]);
  });

  it('stands in the built document, less the one rule that a document may not carry', () => {
    expect(html).toContain(`<meta http-equiv="Content-Security-Policy" content="${META_POLICY}" />`);
    expect(META_POLICY).toBe(POLICY.replace("; frame-ancestors 'none'", ''));
    expect(META_POLICY.length).toBeLessThan(POLICY.length);
    expect(html).not.toMatch(/<script(?![^>]*\bsrc=)/);
  });

  it.each([
    ['the document', () => ''],
    ['a script', script],
    ['a wasm file', wasm],
    ['what is not there', () => 'assets/nothing.js'],
  ])('is a header of %s', async (_what, address) => {
    const response = await fetch(`${origin}/${address()}`);
    expect(response.headers.get('content-security-policy')).toBe(POLICY);
    expect(response.headers.get('x-content-type-options')).toBe('nosniff');
    expect(response.headers.get('referrer-policy')).toBe('no-referrer');
    await response.arrayBuffer();
  });
});

describe('built assets', () => {
  it.each([
    ['a script', script, 'text/javascript; charset=utf-8'],
    ['a wasm file', wasm, 'application/wasm'],
  ])('%s comes compressed and for keeps, the same bytes as bare', async (_what, address, type) => {
    const bare = readFileSync(join(folder, 'dist', address()));
    expect(gunzipSync(readFileSync(join(folder, 'dist', `${address()}.gz`)))).toEqual(bare);
    expect(brotliDecompressSync(readFileSync(join(folder, 'dist', `${address()}.br`)))).toEqual(bare);
    for (const [takes, coding] of [
      ['gzip', 'gzip'],
      ['gzip, deflate, br', 'br'],
      ['gzip, br;q=0', 'gzip'],
    ] as const) {
      const packed = await fetch(`${origin}/${address()}`, { headers: { 'accept-encoding': takes } });
      expect(packed.status).toBe(200);
      expect(packed.headers.get('content-encoding')).toBe(coding);
      expect(Number(packed.headers.get('content-length'))).toBeLessThan(bare.length);
      expect(packed.headers.get('content-type')).toBe(type);
      expect(packed.headers.get('cache-control')).toBe('public, max-age=31536000, immutable');
      expect(packed.headers.get('vary')).toBe('Accept-Encoding');
      expect(Buffer.from(await packed.arrayBuffer())).toEqual(bare);
    }
    const plain = await fetch(`${origin}/${address()}`, { headers: { 'accept-encoding': 'identity' } });
    expect(plain.headers.get('content-encoding')).toBeNull();
    expect(Buffer.from(await plain.arrayBuffer())).toEqual(bare);
  });

  it('the document itself is asked for anew each time', async () => {
    const response = await fetch(`${origin}/`);
    expect(response.headers.get('cache-control')).toBe('no-cache');
    expect(await response.text()).toBe(html);
  });

  it('what is not there is not found', async () => {
    for (const address of ['assets/nothing.js', 'nothing', 'assets/..%2f..%2fmain.js']) {
      expect((await fetch(`${origin}/${address}`)).status, address).toBe(404);
    }
  });

  it.each([
    ['/assets/duckdb-eh-Bm_w72iq.wasm', { name: 'duckdb-eh-Bm_w72iq.wasm', type: 'application/wasm' }],
    ['/assets/demo.csv?x=1', { name: 'demo.csv', type: 'text/csv; charset=utf-8' }],
    ['/assets/../package.json', null],
    ['/assets/a/b.js', null],
    ['/assets/.hidden.js', null],
    ['/assets/page.html', null],
    ['/index.html', null],
  ])('%s is told apart', (address, asset) => {
    expect(assetAsked(address)).toEqual(asset);
  });

  it.each([
    ['gzip, deflate, br', true, true],
    ['br;q=1.0, gzip;q=0.8', true, true],
    ['*', true, true],
    ['gzip;q=0, *', false, true],
    ['gzip;q=0', false, false],
    ['br', false, true],
    [undefined, false, false],
  ])('a request that takes %s', (header, gzip, br) => {
    expect(takesCoding(header, 'gzip')).toBe(gzip);
    expect(takesCoding(header, 'br')).toBe(br);
  });
});

it('the progress bar of the engine knows how much there is', () => {
  const path = createRequire(import.meta.url).resolve('@duckdb/duckdb-wasm/dist/duckdb-eh.wasm');
  expect(ENGINE_BYTES).toBe(statSync(path).size);
});
