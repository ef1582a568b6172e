import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';

interface SidePanelProps {
  readonly title: string;
  readonly testid: string;
  readonly onClose: () => void;
  /** The heading takes the focus, so that a reader hears what has opened; off where a field takes it. */
  readonly takesFocus?: boolean;
  readonly children: ComponentChildren;
}

/** What opens beside the grid: a heading, a way to close it, and its content. */
export function SidePanel({ title, testid, onClose, takesFocus = true, children }: SidePanelProps) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    if (takesFocus) heading.current?.focus();
  }, [takesFocus]);
  return (
    <section
      class="side-panel"
      aria-label={title}
      data-testid={testid}
      onKeyDown={(event) => {
        if (event.key !== 'Escape' || event.defaultPrevented) return;
        onClose();
      }}
    >
      <header>
        <h2 tabIndex={-1} ref={heading}>
          {title}
        </h2>
        <button type="button" class="button" onClick={onClose}>
          Close
        </button>
      </header>
      {children}
    </section>
  );
}
