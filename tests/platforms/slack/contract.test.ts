import { describePlatform } from '../contract.ts';
import { ackWithinMs } from './delivery.ts';
import { openWorld } from './world.ts';

describePlatform('slack', {
  can: { gap: false, faults: true, alt: true },
  slowMs: ackWithinMs + 300,
  create: () => openWorld('http'),
});

describePlatform('slack', {
  can: { gap: true, faults: true, alt: true },
  slowMs: ackWithinMs + 300,
  create: () => openWorld('socket'),
});
