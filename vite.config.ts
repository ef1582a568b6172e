import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';
import { readPage } from './src/pages/read-page.ts';
import { hashedAssets } from './src/tasks/hashed-assets.ts';
import { noProbes } from './src/tasks/no-probes.ts';
import { pageFiles } from './src/tasks/page-files.ts';
import { preloads } from './src/tasks/preloads.ts';
import { securityHeaders } from './src/tasks/security-headers.ts';

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

export default defineConfig({
  root: here('src/app'),
  // Relative addresses: the built pages work under any path.
  base: './',
  publicDir: false,
  // Pages are told apart behind the #: an address that names no file is not found.
  appType: 'mpa',
  // Headers first: every answer of the next one carries them too.
  plugins: [securityHeaders(), hashedAssets(), pageFiles(readPage), preloads(/herd-worker-[\w-]+\.js$/)],
  worker: { format: 'es', plugins: () => [noProbes()] },
  server: { fs: { allow: [here('.')] } },
  build: {
    outDir: here('dist'),
    emptyOutDir: true,
    target: 'es2022',
    // An asset inlined as a data: address would be refused by the content-security policy.
    assetsInlineLimit: 0,
    // One style sheet, 8 kB small: a part that comes later has its own already, whether or not the server is there.
    cssCodeSplit: false,
    chunkSizeWarningLimit: 900,
    rolldownOptions: { checks: { pluginTimings: false } },
    // The preload helper's polyfill is inline script.
    modulePreload: { polyfill: false },
  },
});
