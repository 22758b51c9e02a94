import { describeDesk } from '../desk-contract.ts';
import { openWorld } from './world.ts';

describeDesk('slack', () => openWorld('http'));
