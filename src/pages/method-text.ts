import { createContext } from 'preact';

/** The text of a method by its name; null where there is none. */
export type MethodText = (doc: string) => string | null;

export const MethodTextContext = createContext<MethodText>(() => null);
