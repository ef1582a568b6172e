import './no-eval.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { openBrowserEngine } from '../engine/browser-engine.ts';
import { initParquet } from '../engine/parquet.ts';
import type { HerdMethods, StartInput } from './herd-service.ts';
import { intakeDesk } from './intake-desk.ts';
import { pageDesk } from './page-desk.ts';
import { type CallContext, serve } from './rpc.ts';

let desks: Promise<Omit<HerdMethods, 'start'> & { version: string }> | null = null;

async function open(input: StartInput, { progress }: CallContext) {
  const engine = await openBrowserEngine({ wasm: input.engineWasm, worker: input.engineWorker }, (fraction) =>
    progress(fraction, 'Loading the engine'),
  );
  initParquet(new URL(input.parquetWasm));
  const today = input.today as CivilDay;
  return { ...intakeDesk(engine, today), ...pageDesk(engine, today), version: await engine.version() };
}

async function desk(): Promise<Omit<HerdMethods, 'start'>> {
  if (!desks) throw new Error('the herd’s worker must be started first');
  return desks;
}

const methods: HerdMethods = {
  async start(input, context) {
    desks ??= open(input, context);
    return { version: (await desks).version };
  },
  inspect: async (input, context) => (await desk()).inspect(input, context),
  repropose: async (input, context) => (await desk()).repropose(input, context),
  admit: async (input, context) => (await desk()).admit(input, context),
  setCohort: async (input, context) => (await desk()).setCohort(input, context),
  runQuery: async (input, context) => (await desk()).runQuery(input, context),
  runAnalysis: async (input, context) => (await desk()).runAnalysis(input, context),
  dropEntry: async (input, context) => (await desk()).dropEntry(input, context),
  countRows: async (input, context) => (await desk()).countRows(input, context),
  fetchRows: async (input, context) => (await desk()).fetchRows(input, context),
  rowsAsCsv: async (input, context) => (await desk()).rowsAsCsv(input, context),
};

serve(self as unknown as Worker, methods);
