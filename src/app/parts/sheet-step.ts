import type { SheetModel } from '../sheet-model.ts';

/** Undoes or redoes, and says so. */
export async function step(model: SheetModel, job: () => Promise<void>, verb: string): Promise<void> {
  try {
    await job();
    model.outcome.value = { text: `The last change was ${verb}.`, faults: [] };
  } catch (error) {
    model.outcome.value = { text: error instanceof Error ? error.message : String(error), faults: [] };
  }
}
