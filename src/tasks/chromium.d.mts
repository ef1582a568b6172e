export function chromiumPath(): Promise<string>;
export const CHROMIUM_ARGUMENTS: string[];
