import type { AppState } from '../app-state.ts';
import type { SheetModel } from '../sheet-model.ts';

/** What stands beside the grid. */
export type SheetPanel =
  | { readonly kind: 'column'; readonly name: string }
  | { readonly kind: 'columns' | 'history' | 'add' | 'derived' | 'strike' | 'start' };

export interface PanelProps {
  readonly state: AppState;
  readonly model: SheetModel;
  readonly herd: AppState['herd'];
  readonly open: (panel: SheetPanel | null) => void;
}
