import './no-eval.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { openBrowserEngine } from '../engine/browser-engine.ts';
import { initParquet } from '../engine/parquet.ts';
import type { HerdMethods, StartInput } from './herd-service.ts';
import { intakeDesk } from './intake-desk.ts';
import { pageDesk } from './page-desk.ts';
import { type CallContext, serve } from './rpc.ts';
import { makeScenes } from './scenes.ts';
import { sheetDesk } from './sheet-desk.ts';

let desks: Promise<Omit<HerdMethods, 'start'> & { version: string }> | null = null;

async function open(
  input: StartInput,
  { progress }: CallContext,
): Promise<Omit<HerdMethods, 'start'> & { version: string }> {
  const engine = await openBrowserEngine({ wasm: input.engineWasm, worker: input.engineWorker }, (fraction) =>
    progress(fraction, 'Loading the engine'),
  );
  initParquet(new URL(input.parquetWasm));
  const today = input.today as CivilDay;
  const scenes = makeScenes(engine);
  const intake = intakeDesk(engine, today);
  return {
    ...intake,
    admit: (admitted, context) => scenes.inHerd(() => intake.admit(admitted, context)),
    startBlank: (input, context) => scenes.inHerd(() => intake.startBlank(input, context)),
    ...pageDesk(engine, today, scenes),
    ...sheetDesk(engine, today, scenes.inHerd),
    version: await engine.version(),
  };
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
  describeAnalyses: async (input, context) => (await desk()).describeAnalyses(input, context),
  countScene: async (input, context) => (await desk()).countScene(input, context),
  checkColumn: async (input, context) => (await desk()).checkColumn(input, context),
  takeAway: async (input, context) => (await desk()).takeAway(input, context),
  dropEntry: async (input, context) => (await desk()).dropEntry(input, context),
  countRows: async (input, context) => (await desk()).countRows(input, context),
  fetchRows: async (input, context) => (await desk()).fetchRows(input, context),
  rowsAsCsv: async (input, context) => (await desk()).rowsAsCsv(input, context),
  sheetColumns: async (input, context) => (await desk()).sheetColumns(input, context),
  sheetCount: async (input, context) => (await desk()).sheetCount(input, context),
  sheetRows: async (input, context) => (await desk()).sheetRows(input, context),
  sheetPlace: async (input, context) => (await desk()).sheetPlace(input, context),
  columnSummary: async (input, context) => (await desk()).columnSummary(input, context),
  judgeCells: async (input, context) => (await desk()).judgeCells(input, context),
  judgeRows: async (input, context) => (await desk()).judgeRows(input, context),
  setAsideCells: async (input, context) => (await desk()).setAsideCells(input, context),
  lastValues: async (input, context) => (await desk()).lastValues(input, context),
  applyAmendments: async (input, context) => (await desk()).applyAmendments(input, context),
  replaceAmendments: async (input, context) => (await desk()).replaceAmendments(input, context),
  checkExpression: async (input, context) => (await desk()).checkExpression(input, context),
  setDerivedColumns: async (input, context) => (await desk()).setDerivedColumns(input, context),
  startBlank: async (input, context) => (await desk()).startBlank(input, context),
};

serve(self as unknown as Worker, methods);
