export const ACCEPTED: ReadonlySet<string>;
export function isAccepted(expression: string): boolean;
export function statedLicence(stated?: {
  readonly license?: string | { readonly type?: string };
  readonly licenses?: readonly (string | { readonly type?: string })[];
}): string | null;
