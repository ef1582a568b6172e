import type { AppState } from '../app-state.ts';

interface HemisphereChoiceProps {
  readonly state: Pick<AppState, 'hemisphere'>;
  readonly legend: string;
  /** Of the radio group: two of them may stand in one document. */
  readonly name: string;
}

/** Northern or southern seasons. */
export function HemisphereChoice({ state, legend, name }: HemisphereChoiceProps) {
  return (
    <fieldset class="inline">
      <legend>{legend}</legend>
      {(['north', 'south'] as const).map((side) => (
        <label key={side}>
          <input
            type="radio"
            name={name}
            checked={state.hemisphere.value === side}
            onChange={() => {
              state.hemisphere.value = side;
            }}
          />
          {side === 'north' ? 'Northern hemisphere' : 'Southern hemisphere'}
        </label>
      ))}
    </fieldset>
  );
}
