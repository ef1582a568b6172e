import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';
import { securityHeaders } from './src/tasks/security-headers.ts';

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

export default defineConfig({
  root: here('src/app'),
  // Relative addresses: the built pages work under any path.
  base: './',
  publicDir: false,
  plugins: [securityHeaders()],
  worker: { format: 'es' },
  server: { fs: { allow: [here('.')] } },
  build: {
    outDir: here('dist'),
    emptyOutDir: true,
    target: 'es2022',
    // An asset inlined as a data: address would be refused by the content-security policy.
    assetsInlineLimit: 0,
    chunkSizeWarningLimit: 900,
    // The preload helper's polyfill is inline script.
    modulePreload: { polyfill: false },
  },
});
