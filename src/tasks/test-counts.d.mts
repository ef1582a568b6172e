export interface Counts {
  readonly passed: number;
  readonly failed: number;
  readonly skipped: number;
}
export interface UnitReport {
  readonly numPassedTests: number;
  readonly numFailedTests: number;
  readonly numPendingTests: number;
  readonly numTodoTests?: number;
  readonly testResults: readonly {
    readonly status: string;
    readonly assertionResults: readonly { readonly status: string }[];
  }[];
}
export interface BrowserReport {
  readonly stats: {
    readonly expected: number;
    readonly unexpected: number;
    readonly flaky: number;
    readonly skipped: number;
  };
}
export function unitCounts(report: UnitReport | null): Counts | null;
export function browserCounts(report: BrowserReport | null): Counts | null;
export function totalCounts(
  steps: readonly { readonly ok: boolean; readonly counts: Counts | null }[],
): Counts;
export function countsLine(counts: Counts): string;
