import type { Analysis } from '../analysis.ts';
import { changeBetweenTrims } from '../growth/index.ts';
import { type DriftOptions, driftOptionsSchema } from '../growth/options.ts';

/** Change of the toe angle between trims, degrees per 30 days: the model of growth on another measure. */
export const drift: Analysis<DriftOptions> = {
  name: 'drift',
  title: 'Drift between trims',
  question: 'How does the toe angle move between trims?',
  options: driftOptionsSchema,
  async run(options, context) {
    return (await changeBetweenTrims('drift', options, context)).result;
  },
};
