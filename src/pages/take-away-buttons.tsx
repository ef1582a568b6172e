import { useState } from 'preact/hooks';

interface TakeAwayButtonsProps {
  /** `this table`, `this chart` */
  readonly what: string;
  readonly formats: Readonly<Record<string, string>>;
  take(format: string): Promise<string | null>;
}

/** Buttons that save something as a file, and what there was to say about the last one. */
export function TakeAwayButtons({ what, formats, take }: TakeAwayButtonsProps) {
  const [said, say] = useState('');
  const [busy, setBusy] = useState(false);
  const start = (format: string) => {
    setBusy(true);
    take(format)
      .then((text) => say(text ?? ''))
      .catch((error: unknown) =>
        say(`This could not be saved: ${error instanceof Error ? error.message : error}`),
      )
      .finally(() => setBusy(false));
  };
  return (
    <p class="take-away">
      Save {what} as
      {Object.entries(formats).map(([format, label]) => (
        <button
          key={format}
          type="button"
          class="small"
          disabled={busy}
          aria-label={`Save ${what} as ${label}`}
          onClick={() => start(format)}
        >
          {label}
        </button>
      ))}
      <span aria-live="polite">{said}</span>
    </p>
  );
}
