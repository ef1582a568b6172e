import type { ComponentChildren } from 'preact';
import { useId, useState } from 'preact/hooks';
import type { AnalysisDescription } from '../../pages/analysis-fields.ts';
import type { EntryKind } from '../../pages/entry-schemas.ts';
import type { Page } from '../../pages/page.ts';
import { entryText, freeName, nameFault } from '../../pages/page-text.ts';
import type { PageRuntime } from '../../pages/runtime.ts';
import { isBehindColumn, tableView } from '../../pages/table-view.ts';

/** What every form needs: the page, its results, and where the block goes. */
export interface EntryFormProps {
  readonly page: Page;
  readonly runtime: PageRuntime;
  /** Every analysis that there is; empty until it is known. */
  readonly analyses: readonly AnalysisDescription[];
  onInsert(block: string): void;
}

export interface Option {
  readonly value: string;
  readonly label: string;
}

export function SelectField({
  label,
  value,
  options,
  onChange,
}: {
  readonly label: string;
  readonly value: string;
  readonly options: readonly Option[];
  onChange(value: string): void;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <select id={id} value={value} onChange={(event) => onChange(event.currentTarget.value)}>
        {options.map((option) => (
          <option key={option.value} value={option.value}>
            {option.label}
          </option>
        ))}
      </select>
    </div>
  );
}

export function TextField({
  label,
  value,
  onInput,
  type = 'text',
  lines = 1,
}: {
  readonly label: string;
  readonly value: string;
  onInput(value: string): void;
  readonly type?: 'text' | 'number' | 'date';
  readonly lines?: number;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {lines > 1 ? (
        <textarea
          id={id}
          value={value}
          rows={lines}
          onInput={(event) => onInput(event.currentTarget.value)}
        />
      ) : (
        <input
          id={id}
          value={value}
          type={type as 'text'}
          onInput={(event) => onInput(event.currentTarget.value)}
        />
      )}
    </div>
  );
}

export function CheckField({
  label,
  checked,
  onChange,
}: {
  readonly label: string;
  readonly checked: boolean;
  onChange(checked: boolean): void;
}) {
  return (
    <label class="check-field">
      <input type="checkbox" checked={checked} onChange={(event) => onChange(event.currentTarget.checked)} />
      {label}
    </label>
  );
}

/** A form that ends in one entry. `make` throws with a sentence where what was filled in does not do. */
export function EntryForm({
  kind,
  page,
  suggested,
  make,
  onInsert,
  children,
}: Pick<EntryFormProps, 'page' | 'onInsert'> & {
  readonly kind: EntryKind;
  /** What the name is made of unless the user gives one. */
  readonly suggested: string;
  make(): string | Readonly<Record<string, unknown>>;
  readonly children: ComponentChildren;
}) {
  const [given, setGiven] = useState<string | null>(null);
  const [fault, setFault] = useState<string | null>(null);
  const name = given ?? freeName(suggested, page);
  const submit = (event: Event) => {
    event.preventDefault();
    const misnamed = nameFault(name, page);
    if (misnamed) return setFault(misnamed);
    try {
      onInsert(entryText(kind, name, make()));
    } catch (error) {
      setFault(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <form class="entry-form" noValidate onSubmit={submit} aria-label={`New ${kind}`}>
      <div class="entry-form-fields">{children}</div>
      <TextField label="Called, on this page" value={name} onInput={setGiven} />
      {fault && (
        <p class="warning-text" role="alert">
          {fault}
        </p>
      )}
      <button type="submit" class="button main">
        Put it on the page
      </button>
    </form>
  );
}

/** A table that a chart or a table can show, with its columns. */
interface DataTable {
  readonly name: string;
  readonly label: string;
  readonly columns: readonly (Option & { readonly numeric: boolean })[];
}

/** The tables that stand on the page with a result. */
export function dataTables(page: Page, runtime: PageRuntime): DataTable[] {
  return page.entries.flatMap((entry) => {
    if (entry.kind !== 'query' && entry.kind !== 'analysis') return [];
    const result = runtime.has(entry.name) ? runtime.state(entry.name).value.result : null;
    if (!result) return [];
    const names =
      result.kind === 'analysis'
        ? result.analysis.tables.map((table) => `${entry.name}.${table.name}`)
        : [entry.name];
    return names.map((name): DataTable => {
      const view = tableView(name, result);
      return {
        name,
        label: result.kind === 'analysis' ? `${name} (${view.title})` : name,
        columns: view.columns
          .filter((column) => !isBehindColumn(column.name))
          .map((column) => ({
            value: column.name,
            label: column.label,
            numeric: view.table.columns[column.name]?.type === 'number',
          })),
      };
    });
  });
}

export const namesOf = (page: Page, kind: EntryKind): string[] =>
  page.entries.filter((entry) => entry.kind === kind).map(({ name }) => name);
