import { expect, it } from 'vitest';
import { version } from '../../package.json';
import { PROGRAM_VERSION } from '../../src/app/program-version.ts';

it('the version written into study files is that of the package', () =>
  expect(PROGRAM_VERSION).toBe(version));
