import { expect, test } from 'vitest';
import type { IntervalAnswer } from '../../src/analyses/interval-effect/answer.ts';
import { intervalRefusals } from '../../src/analyses/interval-effect/findings.ts';
import { unavailable } from '../../src/core/outcome.ts';

test('a fit without a curve of risk says why there is none', () => {
  const risk = unavailable('no-events', 'no group here has events enough to estimate its risk.');
  const fit = { exponent: { estimate: 1, stdError: 0.1, low: 0.8, high: 1.2 } };
  const answer = { options: { problem: 'separation' }, fits: [{ comparison: 'crude', fit, risk }] };
  expect(intervalRefusals(answer as unknown as IntervalAnswer)).toEqual([
    {
      unavailable: 'no-events',
      sentence:
        'separation, crude, risk by the weeks since the trim: no group here has events enough to estimate its risk.',
    },
  ]);
});
