import { useState } from 'preact/hooks';
import type { EntryFormProps } from './page-form.tsx';
import { AnalysisForm } from './page-form-analysis.tsx';
import { ChoiceForm } from './page-form-choice.tsx';
import { ColumnForm } from './page-form-column.tsx';
import { QueryForm } from './page-form-query.tsx';
import { ChartForm, FindingsForm, TableForm } from './page-forms-show.tsx';

const FORMS = {
  choice: { label: 'Choice', form: ChoiceForm },
  query: { label: 'Query', form: QueryForm },
  analysis: { label: 'Analysis', form: AnalysisForm },
  findings: { label: 'Findings', form: FindingsForm },
  chart: { label: 'Chart', form: ChartForm },
  table: { label: 'Table', form: TableForm },
  column: { label: 'Derived column', form: ColumnForm },
} as const;
type FormName = keyof typeof FORMS;

/** Puts entries on the page by filling in forms; they stand in the text afterwards like any other. */
export function PageInsert(props: EntryFormProps) {
  const [open, setOpen] = useState<FormName | null>(null);
  const Form = open && FORMS[open].form;
  return (
    <div class="page-insert">
      <p class="actions">
        <span class="soft">Put on the page:</span>
        {(Object.keys(FORMS) as FormName[]).map((name) => (
          <button
            key={name}
            type="button"
            class="button"
            aria-expanded={open === name}
            onClick={() => setOpen(open === name ? null : name)}
          >
            {FORMS[name].label}
          </button>
        ))}
      </p>
      {Form && (
        <Form
          {...props}
          onInsert={(block) => {
            setOpen(null);
            props.onInsert(block);
          }}
        />
      )}
    </div>
  );
}
