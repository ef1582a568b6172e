import { batch } from '@preact/signals';
import type { AnalysisDraft } from '../analyses/analysis.ts';
import { draftViews, type Standing } from './draft-views.ts';
import { lower, type Node, update } from './page-nodes.ts';

/** An answer so soon after what was handed over is drawn at once, and not a second time. */
const ON_ITS_HEELS_MS = 30;

/**
 * Draws the charts that wait for an analysis of what its run has handed over, where all else that they read stands, unless
 * the answer follows on its heels.
 */
export function showDraft(node: Node, run: AbortController, draft: AnalysisDraft): void {
  setTimeout(() => {
    if (run.signal.aborted || node.running !== run) return;
    node.draft = draft;
    batch(() => {
      for (const reader of node.usedBy) if (reader.stale) showDraftIn(reader);
    });
  }, ON_ITS_HEELS_MS);
}

function showDraftIn(node: Node): void {
  if (node.entry.kind !== 'chart') return;
  const standing = new Map<string, Standing>();
  for (const read of node.uses) {
    const { status, result } = read.state.peek();
    if (!read.stale && status === 'done' && result) standing.set(lower(read.entry.name), { result });
    else if (read.draft) standing.set(lower(read.entry.name), { draft: read.draft });
  }
  const result = draftViews(node.entry.body, standing);
  if (!result) return;
  // What it shows now is no longer what its last run had read.
  node.readKey = null;
  update(node, { status: 'waiting', result, isDraft: true });
}
