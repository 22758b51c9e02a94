import { describeDesk } from '../desk-contract.ts';
import { discordWorld } from './world.ts';

describeDesk('discord', () => discordWorld());
