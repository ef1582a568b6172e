import './lengths-choice.css';
import type { ShownLength } from '../../analyses/lengths.ts';
import type { AppState } from '../app-state.ts';
import { saveLengths } from '../lengths-setting.ts';

const UNITS: Readonly<Record<ShownLength, string>> = { mm: 'mm', in: 'inches' };

/** In which unit lengths are read. What is stored, and what leaves as a file, stays in mm. */
export function LengthsChoice({ state }: { readonly state: Pick<AppState, 'lengths' | 'keeping'> }) {
  const shown = state.lengths.value;
  return (
    <fieldset class="lengths-choice">
      <legend>Lengths in</legend>
      {(Object.keys(UNITS) as ShownLength[]).map((unit) => (
        <label key={unit}>
          <input
            type="radio"
            name="lengths"
            checked={shown === unit}
            onChange={() => void saveLengths(state.keeping, unit)}
          />
          {UNITS[unit]}
        </label>
      ))}
      {shown === 'in' && <span class="soft lengths-note">on pages; sheet, rows and saved tables in mm</span>}
    </fieldset>
  );
}
