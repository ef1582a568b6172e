import type { ComponentChildren, ComponentType } from 'preact';
import { useEffect, useState } from 'preact/hooks';

type Load<P> = () => Promise<ComponentType<P>>;

interface LaterProps<P> {
  /** The same function at every drawing. */
  readonly load: Load<P>;
  readonly with: P;
  /** Stands in its place until it is there. */
  readonly meanwhile?: ComponentChildren;
}

/** What has come, by what loads it: drawn at once the next time. */
const here = new WeakMap<object, unknown>();

/** Loads a part before it is wanted. */
export async function bring<P>(load: Load<P>): Promise<void> {
  here.set(load, await load());
}

/** A part of the program that is loaded when it is first wanted. */
export function Later<P extends object>({ load, with: props, meanwhile }: LaterProps<P>) {
  const [, redraw] = useState(0);
  const [failed, setFailed] = useState<string | null>(null);
  const Part = here.get(load) as ComponentType<P> | undefined;
  useEffect(() => {
    if (here.has(load)) return;
    let isGone = false;
    bring(load).then(
      () => {
        if (!isGone) redraw((times) => times + 1);
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
  if (Part) return <Part {...props} />;
  return meanwhile ?? <p class="soft">Loading…</p>;
}
