import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { build, type Plugin, preview } from 'vite';

/** One answer of the server, in the order in which they were asked for. */
export interface Sent {
  readonly path: string;
  /** As they went over the wire, without the head. */
  readonly bytes: number;
}

export interface Served {
  readonly address: string;
  /** Everything sent since it was last emptied. */
  readonly sent: Sent[];
  /** What a file sent would come to as gzip, whatever it was sent as. */
  gzipBytes(path: string): number;
  close(): Promise<void>;
}

/** Builds the notebook into a folder of its own and serves it as `npm start` does, counting what is sent. */
export async function serveBuilt(): Promise<Served> {
  const outDir = mkdtempSync(join(tmpdir(), 'growout-bench-'));
  const sent: Sent[] = [];
  const counting: Plugin = {
    name: 'growout-bench-counting',
    // Before those that answer: what they have answered would not be seen.
    enforce: 'pre',
    configurePreviewServer(server) {
      server.middlewares.use((request, response, next) => {
        const place = sent.push({ path: request.url ?? '', bytes: 0 }) - 1;
        response.on('finish', () => {
          const bytes = Number(response.getHeader('content-length') ?? 0);
          sent[place] = { path: request.url ?? '', bytes };
        });
        next();
      });
    },
  };
  const config = {
    configFile: 'vite.config.ts',
    logLevel: 'warn' as const,
    plugins: [counting],
    build: { outDir, emptyOutDir: true },
  };
  await build(config);
  const server = await preview({
    ...config,
    // Any port that is free: browser tests may run at the same time.
    preview: { host: '127.0.0.1', port: 0, open: false },
  });
  const address = server.resolvedUrls?.local[0];
  if (address === undefined) throw new Error('the server must have an address');
  return {
    address,
    sent,
    gzipBytes: (path) => gzipSync(readFileSync(join(outDir, new URL(path, 'http://bench').pathname))).length,
    async close() {
      await server.close();
      rmSync(outDir, { recursive: true, force: true });
    },
  };
}
