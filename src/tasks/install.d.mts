export interface Lock {
  readonly packages: Readonly<
    Record<
      string,
      {
        readonly version?: string;
        readonly dev?: boolean;
        readonly optional?: boolean;
        readonly devOptional?: boolean;
      }
    >
  >;
}
export const ROOT: string;
export function nodeProblem(version: string): string | null;
export function isInstalled(lock: Lock, installed: Lock, options: { readonly everything: boolean }): boolean;
