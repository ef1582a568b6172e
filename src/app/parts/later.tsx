import type { ComponentType } from 'preact';
import { useEffect, useState } from 'preact/hooks';

interface LaterProps<P> {
  /** The same function at every drawing. */
  readonly load: () => Promise<ComponentType<P>>;
  readonly with: P;
}

/** A part of the program that is loaded when it is first wanted. */
export function Later<P extends object>({ load, with: props }: LaterProps<P>) {
  const [Part, setPart] = useState<ComponentType<P> | null>(null);
  const [failed, setFailed] = useState<string | null>(null);
  useEffect(() => {
    let isGone = false;
    load().then(
      (loaded) => {
        if (!isGone) setPart(() => loaded);
      },
      (error: Error) => {
        if (!isGone) setFailed(error.message);
      },
    );
    return () => {
      isGone = true;
    };
  }, [load]);
  if (failed !== null) return <p class="warning">This part could not be loaded: {failed}</p>;
  return Part ? <Part {...props} /> : <p class="soft">Loading…</p>;
}
