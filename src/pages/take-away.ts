import { createContext } from 'preact';
import type { ChartSpec } from '../plots/chart-spec.ts';
import type { TableView } from './entry-state.ts';

export const TABLE_FORMATS = { csv: 'CSV', parquet: 'Parquet', arrow: 'Arrow' } as const;
export const PICTURE_FORMATS = { svg: 'SVG', png: 'PNG' } as const;
export type TableFormat = keyof typeof TABLE_FORMATS;
export type PictureFormat = keyof typeof PICTURE_FORMATS;

/** Hands what a page shows to the user as files. Each resolves with what there is to say about it, or null. */
export interface TakeAway {
  /** `name` as `entry` or `entry.table`; all its rows, also those past what the page shows. */
  table(name: string, view: TableView, format: TableFormat): Promise<string | null>;
  picture(
    name: string,
    spec: ChartSpec,
    views: Readonly<Record<string, TableView>>,
    format: PictureFormat,
  ): Promise<string | null>;
}

/** Null where nothing can be taken away, as in a test or a printed page. */
export const TakeAwayContext = createContext<TakeAway | null>(null);
