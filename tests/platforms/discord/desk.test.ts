import { describeDesk } from '../desk-contract.ts';
import { hostileCases } from '../hostile-cases.ts';
import { discordWorld } from './world.ts';

describeDesk('discord', () => discordWorld(), hostileCases);
