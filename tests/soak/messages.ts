export type Part = 'files' | 'herds';

/** What a worker tells of case `n`. */
export type Message =
  | { readonly kind: 'start'; readonly n: number; readonly what: string }
  | {
      readonly kind: 'done';
      readonly n: number;
      readonly what: string;
      readonly ms: number;
      readonly faults: readonly string[];
      readonly counts: Readonly<Record<string, number>>;
    }
  | { readonly kind: 'crash'; readonly words: string };
