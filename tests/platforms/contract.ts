/**
 * The promises of `src/platforms/port.ts`, as one suite for every platform.
 *
 * Usage, in `tests/platforms/<name>/contract.test.ts`:
 *
 * ```ts
 * import { describePlatform } from '../contract.ts';
 * describePlatform('slack', {
 *   can: { gap: false, faults: true, alt: true },   // what the platform's server at hand can act out; the rest shows as skipped
 *   slowMs: 400,                                    // a handler slower than the platform's time for a first answer
 *   create: async () => world,                      // a fresh server and an adapter that is not started yet
 * });
 * ```
 *
 * The world plays the platform's server and its people: it stores what the adapter sent, tells what readers would see, and
 * delivers what members do. It must fail on calls that the real platform would refuse. The suite starts the adapter itself,
 * closes the world after each test, and never looks at the platform's own formats.
 */
import { describe } from 'vitest';
import type { PlatformName } from '../../src/platforms/port.ts';
import { actionCases } from './contract-actions.ts';
import { faultCases } from './contract-faults.ts';
import { incomingCases } from './contract-incoming.ts';
import { postCases } from './contract-posts.ts';
import { useWorld } from './contract-scene.ts';
import type { World } from './platform-world.ts';

export interface Harness {
  can: { gap: boolean; faults: boolean; alt: boolean };
  /** Milliseconds: longer than the first-answer time with which `create` sets server and adapter up. */
  slowMs: number;
  create(): Promise<World>;
}

/** Runs the port's promises against one platform; see the top of this file. */
export function describePlatform(name: PlatformName, harness: Harness): void {
  describe(`${name} keeps the platform port's promises`, () => {
    const on = useWorld(harness.create);
    incomingCases(name, on);
    postCases(name, on, harness);
    actionCases(name, on, harness);
    faultCases(on, harness);
  });
}
