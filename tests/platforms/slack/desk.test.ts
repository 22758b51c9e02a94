import { describeDesk } from '../desk-contract.ts';
import { hostileCases } from '../hostile-cases.ts';
import { openWorld } from './world.ts';

describeDesk('slack', () => openWorld('http'), hostileCases);
