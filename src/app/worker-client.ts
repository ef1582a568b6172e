import engineWorker from '@duckdb/duckdb-wasm/dist/duckdb-browser-eh.worker.js?url';
import engineWasm from '@duckdb/duckdb-wasm/dist/duckdb-eh.wasm?url';
import parquetWasm from 'parquet-wasm/esm/parquet_wasm_bg.wasm?url';
import { localToday } from '../core/civil-day.ts';
import { holdLifeline, lifelineName } from '../core/lifeline.ts';
import { type HerdLink, linkHerd } from './herd-link.ts';
import type { HerdMethods } from './herd-service.ts';
import herdWorker from './herd-worker.ts?worker&url';
import type { Caller, Stage } from './rpc.ts';

const whole = (address: string): string => new URL(address, document.baseURI).href;

/** Starts the herd's worker. Made from a blob, it keeps the document's content-security policy on any host. */
export function openHerdWorker(): HerdLink {
  return linkHerd(() => {
    const lifeline = lifelineName('herd');
    const source = `import ${JSON.stringify(whole(herdWorker))};\n${holdLifeline(lifeline)}`;
    const address = URL.createObjectURL(new Blob([source], { type: 'text/javascript' }));
    return { worker: new Worker(address, { type: 'module' }), lifeline };
  });
}

/** Opens the engine inside it. */
export function startHerd(
  herd: Caller<HerdMethods>,
  progress: (stage: Stage) => void,
): Promise<{ readonly version: string }> {
  const input = {
    engineWasm: whole(engineWasm),
    engineWorker: whole(engineWorker),
    parquetWasm: whole(parquetWasm),
    today: localToday(),
  };
  return herd.call('start', input, { progress });
}
