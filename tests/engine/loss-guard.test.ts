import { expect, it } from 'vitest';
import { EngineLost, hasBrokenEngine, isBroken, isEngineLost } from '../../src/core/engine-lost.ts';
import { guardLoss } from '../../src/engine/loss-guard.ts';

const never = new Promise<void>(() => undefined);

it('lets answers and failures through while the engine lives', async () => {
  const guard = guardLoss(never);
  expect(await guard(async () => 7)).toBe(7);
  await expect(guard(() => Promise.reject(new Error('Binder Error: unreachable')))).rejects.toThrow('Binder');
  expect(await guard(async () => 8)).toBe(8);
});

it('fails what runs and what comes later when the engine ends', async () => {
  let end = (): void => undefined;
  const guard = guardLoss(
    new Promise((resolve) => {
      end = resolve;
    }),
  );
  const running = guard(() => new Promise(() => undefined));
  end();
  await expect(running).rejects.toSatisfy(isEngineLost);
  await expect(guard(async () => 1)).rejects.toSatisfy(isEngineLost);
});

it('fails all that runs when the engine ends, not the last alone', async () => {
  let end = (): void => undefined;
  const guard = guardLoss(
    new Promise((resolve) => {
      end = resolve;
    }),
  );
  const running = [1, 2, 3].map(() => guard(() => new Promise(() => undefined)));
  end();
  for (const one of running) await expect(one).rejects.toSatisfy(isEngineLost);
});

it('takes an engine that ran into itself for lost', async () => {
  const guard = guardLoss(never);
  const breaks = guard(() => Promise.reject(new Error('memory access out of bounds')));
  await expect(breaks).rejects.toThrow('has stopped (memory access out of bounds)');
  await expect(guard(async () => 1)).rejects.toSatisfy(isEngineLost);
});

it('knows what WebAssembly says from what the engine quotes', () => {
  const said = (text: string): boolean => isBroken(new Error(text));
  expect(said('RuntimeError: unreachable')).toBe(true);
  expect(said('null function or function signature mismatch')).toBe(true);
  expect(said('Binder Error: Referenced column "unreachable" not found')).toBe(false);
  expect(said('Out of Memory Error: could not allocate block')).toBe(false);
  expect(isBroken(new EngineLost())).toBe(false);
});

it('tells an engine that broke from one that ended or never came', () => {
  expect(hasBrokenEngine(new EngineLost('memory access out of bounds'))).toBe(true);
  expect(hasBrokenEngine(new EngineLost('its script could not be fetched'))).toBe(false);
  expect(hasBrokenEngine(new EngineLost())).toBe(false);
  expect(hasBrokenEngine(new Error('memory access out of bounds'))).toBe(false);
});
