import { describePlatform } from '../contract.ts';
import { discordWorld } from './world.ts';

describePlatform('discord', { can: { gap: true, faults: true, alt: true }, slowMs: 800, create: () => discordWorld() });
