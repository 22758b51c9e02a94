import { describeDesk } from '../desk-contract.ts';
import { hostileCases } from '../hostile-cases.ts';
import { createWorld } from './world.ts';

describeDesk('room', createWorld, hostileCases);
