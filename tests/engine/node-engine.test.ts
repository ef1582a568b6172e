import { describe } from 'vitest';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { holdsToInterface } from './holds-to-interface.ts';

describe('the engine in Node', () => {
  holdsToInterface(openNodeEngine, ['INSTALL parquet; LOAD parquet', 'LOAD icu']);
});
