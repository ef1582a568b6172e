import { mkdirSync } from 'node:fs';
import { defineConfig } from '@playwright/test';
import { CHROMIUM_ARGUMENTS, chromiumPath } from '../../src/tasks/chromium.mjs';
import { NET_LOGS } from './net-log-check.ts';

const executablePath = await chromiumPath();

// One of each browser: this file is read in every process that starts one.
mkdirSync(NET_LOGS, { recursive: true });
const netLog = `--log-net-log=${NET_LOGS}${process.env.TEST_WORKER_INDEX ?? 'main'}-${process.pid}.json`;

const port = process.env.GROWOUT_PORT ?? '4187';

export default defineConfig({
  testDir: '.',
  outputDir: './.output',
  testMatch: '*.spec.ts',
  globalTeardown: './net-log-check.ts',
  fullyParallel: false,
  // Two files at a time: each test has a browser context, and so a store, of its own.
  workers: 2,
  // Who passes only then is named at the end, and of more than one none has passed: `src/tasks/test-counts.mjs`.
  retries: 1,
  timeout: 120_000,
  expect: { timeout: 45_000 },
  reporter: [['list'], ['json', { outputFile: './.output/report.json' }]],
  use: {
    baseURL: `http://127.0.0.1:${port}`,
    viewport: { width: 1280, height: 900 },
    launchOptions: { executablePath, args: [...CHROMIUM_ARGUMENTS, netLog] },
  },
  webServer: {
    command: `npx vite preview --host 127.0.0.1 --port ${port} --strictPort`,
    cwd: '../..',
    url: `http://127.0.0.1:${port}`,
    reuseExistingServer: false,
    stdout: 'ignore',
  },
});
