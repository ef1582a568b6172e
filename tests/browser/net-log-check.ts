import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { FullConfig } from '@playwright/test';
import { readNetLog } from './net-log.ts';

export const NET_LOGS = fileURLToPath(new URL('./.output/net/', import.meta.url));

/** After the last test: fails the run if any page or thread of it asked anything of another origin. */
export default function checkNetLogs({ projects }: FullConfig): void {
  const { origin } = new URL(projects[0]?.use.baseURL ?? '');
  const logs = readdirSync(NET_LOGS).map((name) => readFileSync(`${NET_LOGS}${name}`, 'utf8'));
  const readings = logs.filter((text) => text !== '').map((text) => readNetLog(text, origin));
  const foreign = new Set(readings.flatMap((reading) => reading.foreign));
  if (foreign.size > 0) throw new Error(`something left the origin: ${[...foreign].join(', ')}`);
  const own = readings.reduce((sum, reading) => sum + reading.own, 0);
  if (own === 0) throw new Error('the browser’s network log must hold the requests of the tests');
  console.log(`network: ${own} sockets to ${origin}, none to anyone else`);
}
