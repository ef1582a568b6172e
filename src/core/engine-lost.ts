const NAME = 'EngineLost';

/**
 * The engine has ended, or has broken so that nothing it says can be used: it must be started anew and the herd read
 * again. What is kept in the browser is not touched by it.
 */
export class EngineLost extends Error {
  override readonly name = NAME;
  constructor(detail = '') {
    super(`the engine that works out answers has stopped${detail && ` (${detail})`}`);
  }
}

/** By its name: an error that has crossed from one thread to another keeps no more of its kind. */
export const isEngineLost = (error: unknown): boolean => error instanceof Error && error.name === NAME;

/**
 * What WebAssembly says when it has run into itself, in the words of the browsers: the memory of the engine cannot be
 * trusted from then on. The engine's own sentences begin with their kind (`Binder Error: …`), whatever they quote.
 */
const BROKEN = new RegExp(
  [
    'memory access out of bounds',
    '(table )?index (is )?out of bounds',
    'out of bounds memory access',
    'unreachable',
    '(null function or )?function signature mismatch',
    'indirect call',
    'call_indirect',
    'maximum call stack',
    'too much recursion',
    'aborted\\(',
  ]
    .map((words) => `^(RuntimeError: |RangeError: |InternalError: )?${words}`)
    .join('|'),
  'i',
);

export const isBroken = (error: unknown): boolean => error instanceof Error && BROKEN.test(error.message);

/** The engine did not only end: it broke, over what was asked for here. */
export const hasBrokenEngine = (error: unknown): boolean =>
  isEngineLost(error) && BROKEN.test(/\((.*)\)$/.exec((error as Error).message)?.[1] ?? '');
