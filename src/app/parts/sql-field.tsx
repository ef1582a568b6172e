import { useEffect, useId, useRef, useState } from 'preact/hooks';
import type { ExpressionFault } from '../../sheet/derived-column.ts';
import type { OfferedName, SqlEditor } from './sql-codemirror.ts';

const CHECKED_AFTER = 300;

interface SqlFieldProps {
  readonly label: string;
  /** What it begins with, then what was typed: the editor itself is not written to, or fast typing would be undone. */
  readonly text: string;
  readonly onText: (text: string) => void;
  readonly names: readonly OfferedName[];
  /** Null where it is good. Called as it is typed, with a rest between. */
  readonly check: (text: string) => Promise<ExpressionFault | null>;
  /** Told of every finding; undefined while it is not known yet. */
  readonly onChecked: (fault: ExpressionFault | null | undefined) => void;
}

/** An expression typed with help: names offered, and what is wrong said and marked at its place. */
export function SqlField({ label, text, onText, names, check, onChecked }: SqlFieldProps) {
  const host = useRef<HTMLDivElement>(null);
  const editor = useRef<SqlEditor | null>(null);
  const told = useRef({ onText, names });
  told.current = { onText, names };
  const [fault, setFault] = useState<ExpressionFault | null>(null);
  const [failed, setFailed] = useState<string | null>(null);
  const id = useId();
  useEffect(() => {
    let isGone = false;
    // Loaded when somebody chooses to write SQL, not before.
    import('./sql-codemirror.ts').then(
      ({ openSqlEditor }) => {
        if (isGone || !host.current) return;
        editor.current = openSqlEditor(host.current, {
          text,
          label,
          describedBy: `${id}-said`,
          changed: (next) => told.current.onText(next),
          names: () => told.current.names,
        });
      },
      (error: Error) => setFailed(error.message),
    );
    return () => {
      isGone = true;
      editor.current?.destroy();
      editor.current = null;
    };
  }, []);
  useEffect(() => {
    onChecked(undefined);
    let isOld = false;
    const timer = setTimeout(() => {
      check(text)
        .catch((error: Error): ExpressionFault => ({ message: error.message, offset: null }))
        .then((found) => {
          if (isOld) return;
          setFault(found);
          onChecked(found);
          editor.current?.mark(
            found && found.offset !== null ? { offset: found.offset, message: found.message } : null,
          );
        });
    }, CHECKED_AFTER);
    return () => {
      isOld = true;
      clearTimeout(timer);
    };
  }, [text, check]);
  return (
    <div class="sql-field">
      <div class="sql-editor" ref={host} />
      <p id={`${id}-said`} class="field-fault" aria-live="polite" data-testid="expression-fault">
        {failed ?? (fault && text.trim() !== '' ? `${fault.message}${placeWords(text, fault.offset)}` : '')}
      </p>
    </div>
  );
}

function placeWords(text: string, offset: number | null): string {
  if (offset === null) return '';
  const lines = text.slice(0, offset).split('\n');
  return lines.length > 1
    ? ` (line ${lines.length}, letter ${lines.at(-1)!.length + 1})`
    : ` (letter ${offset + 1})`;
}
