import type { Outcome } from '../core/outcome.ts';
import { alikeDesigns, type FilledCells, filledCells } from './filled-cells.ts';
import type { Numbered } from './number-keys.ts';
import { checkDesign } from './predictor-fit.ts';
import type { TransitionCells } from './transition-data.ts';

/** Covariates of both moves by cell. */
interface TransitionDesigns {
  /** Numbers cells that share them all. */
  readonly alike: Numbered;
  readonly onset: FilledCells;
  readonly clearing: FilledCells;
}

/** Typed `collinear` where those of one move depend on one another. */
export function transitionDesigns({
  cells,
  onset,
  onsetTerms,
  clearing,
  clearingTerms,
  alike = alikeDesigns([onset, clearing], cells.nCells),
}: TransitionCells): Outcome<TransitionDesigns> {
  const ofOnset = filledCells([onset], cells.nCells, alike);
  const ofClearing = filledCells([clearing], cells.nCells, alike);
  const refused =
    checkDesign(ofOnset, cells.count, onsetTerms) ?? checkDesign(ofClearing, cells.count, clearingTerms);
  return refused ?? { alike, onset: ofOnset, clearing: ofClearing };
}
