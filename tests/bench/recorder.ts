import type { Engine } from '../../src/engine/engine.ts';
import { HERD } from '../../src/herd/herd-names.ts';

/** One statement that went to the engine. */
export interface Statement {
  readonly kind: 'run' | 'query';
  readonly sql: string;
  readonly ms: number;
}

/** An engine that remembers what is asked of it, with what each statement took. */
export function recording(engine: Engine): { readonly engine: Engine; readonly statements: Statement[] } {
  const statements: Statement[] = [];
  const timed = async <T>(kind: Statement['kind'], sql: string, job: () => Promise<T>): Promise<T> => {
    const began = performance.now();
    const result = await job();
    statements.push({ kind, sql, ms: performance.now() - began });
    return result;
  };
  return {
    statements,
    engine: {
      ...engine,
      run: (sql, signal) => timed('run', sql, () => engine.run(sql, signal)),
      query: (sql, signal) => timed('query', sql, () => engine.query(sql, signal)),
    },
  };
}

/** All that made `trim_cycle` while a herd was loaded: in parts, compressed in between, where the herd is large. */
export function makingCycles(statements: readonly Statement[]): Statement[] {
  const isOne = ({ kind, sql }: Statement): boolean => kind === 'run' && sql.includes(`${HERD}.cycle_`);
  const first = statements.findIndex(isOne);
  return first < 0 ? [] : statements.slice(first, statements.findLastIndex(isOne) + 1);
}
