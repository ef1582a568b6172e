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
    readonly name: string;
    readonly status: string;
    /** Why the file could not be loaded. */
    readonly message?: string;
    readonly assertionResults: readonly {
      readonly status: string;
      readonly fullName: string;
      readonly failureMessages?: readonly string[];
    }[];
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
interface Told extends Counts {
  /** Names of those that failed, with the first lines of why where the report tells. */
  readonly failures: readonly string[];
  /** The same of those that passed when tried again. */
  readonly again: readonly string[];
}
export function unitCounts(report: UnitReport | null): Told | null;
export function browserCounts(report: BrowserReport | null): Told | null;
export function totalCounts(
  steps: readonly { readonly ok: boolean; readonly counts: Counts | null }[],
): Counts;
export function countsLine(counts: Counts): string;
