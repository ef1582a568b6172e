import type { FootVisitColumn } from '../../herd/dictionary.ts';
import { FEET, FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import { titleOf } from './visit-field.tsx';

interface FeetProps {
  readonly fields: readonly FootVisitColumn[];
  readonly field: (column: FootVisitColumn, foot: Foot) => preact.ComponentChild;
}

/** Fields of all four feet: a row a field, a column a foot. */
export function Feet({ fields, field }: FeetProps) {
  return (
    <div class="scroll">
      <table class="visit-feet" aria-label="Foot by foot">
        <thead>
          <tr>
            <td />
            {FEET.map((foot) => (
              <th key={foot} scope="col">
                {FOOT_LABELS[foot]}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {fields.map((column) => (
            <tr key={column.name}>
              <th scope="row">{titleOf(column)}</th>
              {FEET.map((foot) => (
                <td key={foot}>{field(column, foot)}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
