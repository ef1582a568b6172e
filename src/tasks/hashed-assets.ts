import { createReadStream } from 'node:fs';
import { readdir, readFile, stat, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { pipeline } from 'node:stream';
import { promisify } from 'node:util';
import { gzip } from 'node:zlib';
import type { Plugin } from 'vite';

const TYPES: Readonly<Record<string, string>> = {
  css: 'text/css; charset=utf-8',
  csv: 'text/csv; charset=utf-8',
  js: 'text/javascript; charset=utf-8',
  svg: 'image/svg+xml',
  wasm: 'application/wasm',
};
/** Below this a compressed copy saves nothing. */
const SMALLEST = 1024;

export interface Asset {
  readonly name: string;
  readonly type: string;
}

/** The built asset that an address asks for; null where it asks for anything else. */
export function assetAsked(address: string): Asset | null {
  const found = /^\/assets\/([\w-][\w.-]*\.(\w+))(?:\?.*)?$/.exec(address);
  const type = TYPES[found?.[2] ?? ''];
  return found?.[1] && type ? { name: found[1], type } : null;
}

/** Does a request take gzip (RFC 9110, section 12.5.3)? */
export function takesGzip(header: string | string[] | undefined): boolean {
  return String(header ?? '')
    .split(',')
    .map((part) =>
      part
        .trim()
        .toLowerCase()
        .split(/\s*;\s*q=/),
    )
    .some(([coding, weight]) => (coding === 'gzip' || coding === '*') && Number(weight ?? 1) > 0);
}

/**
 * Writes a gzip copy beside every built asset, and serves assets compressed and for keeps: a changed one has another
 * name. The engine is 36 MB bare and 8 MB so; a web server that knows ready-made `.gz` files can use the same copies.
 */
export function hashedAssets(): Plugin {
  return {
    name: 'growout-hashed-assets',
    async writeBundle({ dir }) {
      if (dir) await compressFolder(join(dir, 'assets'));
    },
    configurePreviewServer(server) {
      const folder = resolve(server.config.root, server.config.build.outDir, 'assets');
      server.middlewares.use(async (request, response, next) => {
        const asset =
          request.method === 'GET' || request.method === 'HEAD' ? assetAsked(request.url ?? '') : null;
        const bare = asset && (await found(join(folder, asset.name)));
        if (!asset || !bare) return next();
        const small = takesGzip(request.headers['accept-encoding'])
          ? await found(join(folder, `${asset.name}.gz`))
          : null;
        const file = small ?? bare;
        response.setHeader('Content-Type', asset.type);
        response.setHeader('Content-Length', file.size);
        response.setHeader('Cache-Control', 'public, max-age=31536000, immutable');
        response.setHeader('Vary', 'Accept-Encoding');
        if (small) response.setHeader('Content-Encoding', 'gzip');
        if (request.method === 'HEAD') response.end();
        else pipeline(createReadStream(file.path), response, () => undefined);
      });
    },
  };
}

async function found(path: string): Promise<{ path: string; size: number } | null> {
  try {
    return { path, size: (await stat(path)).size };
  } catch {
    return null;
  }
}

async function compressFolder(folder: string): Promise<void> {
  const compress = promisify(gzip);
  const names = (await readdir(folder)).filter((name) => assetAsked(`/assets/${name}`) !== null);
  await Promise.all(
    names.map(async (name) => {
      const bytes = await readFile(join(folder, name));
      if (bytes.length >= SMALLEST) await writeFile(join(folder, `${name}.gz`), await compress(bytes));
    }),
  );
}
