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
export interface BrowserSuite {
  readonly file: string;
  readonly specs?: readonly {
    readonly title: string;
    readonly tests: readonly { readonly status: string }[];
  }[];
  readonly suites?: readonly BrowserSuite[];
}
export interface BrowserReport {
  readonly suites?: readonly BrowserSuite[];
  readonly stats: {
    readonly expected: number;
    readonly unexpected: number;
    readonly flaky: number;
    readonly skipped: number;
  };
}
export function unitCounts(report: UnitReport | null): Counts | null;
export function browserCounts(
  report: BrowserReport | null,
): (Counts & { readonly again: readonly string[] }) | null;
export function totalCounts(
  steps: readonly { readonly ok: boolean; readonly counts: Counts | null }[],
): Counts;
export function countsLine(counts: Counts): string;
