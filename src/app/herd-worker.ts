import { startEngine } from '../engine/engine-start.ts';
import type { Analyst } from './analyst.ts';
import type { HerdMethods, StartInput } from './herd-service.ts';
import type { AnalystMethods } from './open-analyst.ts';
import { type CallContext, serve } from './rpc.ts';

type Desks = Omit<HerdMethods, 'start'> & { readonly version: string };
let desks: Promise<Desks> | null = null;

/** The engine is asked for first; what works with it is fetched while it is on its way. */
async function open(input: StartInput, context: CallContext): Promise<Desks> {
  const engine = startEngine({ wasm: input.engineWasm, worker: input.engineWorker });
  // Without its engine it can answer nothing: whoever asks is told by its end.
  void engine.ended.then(() => self.close());
  await Promise.race([engine.asked, engine.failed]);
  context.progress(0, 'Loading the engine');
  const { openDesks } = await import('./herd-desks.ts');
  return openDesks(engine, input, import.meta.url, context);
}

async function desk(): Promise<Omit<HerdMethods, 'start'>> {
  if (!desks) throw new Error('the herd’s worker must be started first');
  return desks;
}

let analyst: Promise<Analyst> | null = null;

const methods: HerdMethods & AnalystMethods = {
  async beAnalyst(port) {
    analyst = import('./analyst.ts').then(({ analystOver }) => analystOver(port));
    await analyst;
    return null;
  },
  async answer(question, context) {
    if (!analyst) throw new Error('an analyst must be told of an engine first');
    return (await analyst).answer(question, context);
  },
  async work(task, context) {
    if (!analyst) throw new Error('an analyst must be told of an engine first');
    return (await analyst).work(task, context);
  },
  async listens() {
    if (!analyst) throw new Error('an analyst must be told of an engine first');
    return (await analyst).listens();
  },
  async start(input, context) {
    desks ??= open(input, context);
    return { version: (await desks).version };
  },
  inspect: async (input, context) => (await desk()).inspect(input, context),
  repropose: async (input, context) => (await desk()).repropose(input, context),
  admit: async (input, context) => (await desk()).admit(input, context),
  setCohort: async (input, context) => (await desk()).setCohort(input, context),
  countCohort: async (input, context) => (await desk()).countCohort(input, context),
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
