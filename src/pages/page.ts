import type { ChartSpec } from '../plots/chart-spec.ts';
import type {
  AnalysisBody,
  ChoiceBody,
  ColumnBody,
  FindingsBody,
  FrontMatter,
  TableBody,
} from './entry-schemas.ts';
import type { QuestionBody, SamplesBody } from './question-schema.ts';

interface Placed {
  readonly name: string;
  /** Line of the opening fence, from 1. */
  readonly line: number;
  /** The text between the fences. */
  readonly source: string;
}

export type Entry = Placed &
  (
    | { readonly kind: 'query'; readonly body: { readonly sql: string } }
    | { readonly kind: 'choice'; readonly body: ChoiceBody }
    | { readonly kind: 'analysis'; readonly body: AnalysisBody }
    | { readonly kind: 'findings'; readonly body: FindingsBody }
    | { readonly kind: 'chart'; readonly body: ChartSpec }
    | { readonly kind: 'table'; readonly body: TableBody }
    | { readonly kind: 'column'; readonly body: ColumnBody }
    | { readonly kind: 'question'; readonly body: QuestionBody }
    | { readonly kind: 'samples'; readonly body: SamplesBody }
  );

export type EntryOf<K extends Entry['kind']> = Extract<Entry, { kind: K }>;

/** What stands on a page, in order: stretches of text (CommonMark), entries, and entries that could not be read. */
export type Block =
  | { readonly type: 'text'; readonly markdown: string; readonly line: number }
  | { readonly type: 'entry'; readonly entry: Entry }
  | { readonly type: 'broken'; readonly source: string; readonly line: number; readonly info: string };

/** Something the author must mend: `line` counts from 1 in the page's file. */
export interface PageProblem {
  readonly line: number;
  readonly entry: string | null;
  readonly message: string;
}

export interface Page {
  readonly front: FrontMatter;
  readonly blocks: readonly Block[];
  readonly entries: readonly Entry[];
  readonly problems: readonly PageProblem[];
}
