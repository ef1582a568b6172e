import type { SheetModel } from '../sheet-model.ts';

const whole = new Intl.NumberFormat('en-GB');
const MOST_LISTED = 500;

/** What came of the last action; each cell that was not set, with the reason. */
export function OutcomeNote({ model }: { readonly model: SheetModel }) {
  const outcome = model.outcome.value;
  return (
    <div aria-live="polite">
      {outcome && (
        <div class={outcome.faults.length > 0 ? 'warning outcome' : 'outcome'} data-testid="outcome">
          <p>
            <span>{outcome.text}</span>
            <button
              type="button"
              class="button"
              onClick={() => {
                model.outcome.value = null;
              }}
            >
              Put away
            </button>
          </p>
          {outcome.faults.length > 0 && (
            // biome-ignore lint/a11y/noNoninteractiveTabindex: a list longer than its box must scroll by keyboard
            <section class="scroll outcome-faults" tabIndex={0} aria-label="Cells that were not set">
              <table class="books" aria-label="Cells that were not set">
                <thead>
                  <tr>
                    <th scope="col">Row</th>
                    <th scope="col">Column</th>
                    <th scope="col">Value</th>
                    <th scope="col">Why not</th>
                    <th scope="col">What would be accepted</th>
                  </tr>
                </thead>
                <tbody>
                  {outcome.faults.slice(0, MOST_LISTED).map((fault, at) => (
                    <tr key={at}>
                      <th scope="row">
                        {fault.sheetRow === null ? '–' : whole.format(fault.sheetRow)}
                        <span class="soft"> line {whole.format(fault.pastedRow)} of what was pasted</span>
                      </th>
                      <td>{fault.column ?? '–'}</td>
                      <td class="examples">{fault.value === '' ? 'nothing' : fault.value}</td>
                      <td>{fault.reason}</td>
                      <td>{fault.accepted}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
              {outcome.faults.length > MOST_LISTED && (
                <p>and {whole.format(outcome.faults.length - MOST_LISTED)} more.</p>
              )}
            </section>
          )}
        </div>
      )}
    </div>
  );
}
