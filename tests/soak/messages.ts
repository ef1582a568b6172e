/** What is thrown at the program: files at intake, herds at the analyses, and in the browser threads or tabs that end. */
export const PARTS = ['files', 'herds', 'faults', 'kills'] as const;
export type Part = (typeof PARTS)[number];

/** What came of case `n`. */
export interface Outcome {
  readonly part: Part;
  readonly n: number;
  /** What the case was made of, for the lines of the table; one case may stand in several. */
  readonly kinds: readonly string[];
  readonly ms: number;
  /** What went wrong, in words; empty where nothing did. */
  readonly faults: readonly string[];
  readonly counts: Readonly<Record<string, number>>;
}

/** What a worker tells. */
export type Message =
  | { readonly kind: 'start'; readonly n: number; readonly what: string }
  | { readonly kind: 'done'; readonly outcome: Outcome }
  | { readonly kind: 'crash'; readonly words: string };
