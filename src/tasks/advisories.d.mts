export function toldOf(printed: string | null): { lines: string[]; status: 0 | 1 | 2 };
