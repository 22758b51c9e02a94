import { describePlatform } from '../contract.ts';
import { createWorld } from './world.ts';

describePlatform('room', { can: { gap: false, faults: false, alt: true }, slowMs: 400, create: createWorld });
