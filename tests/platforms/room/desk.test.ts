import { describeDesk } from '../desk-contract.ts';
import { createWorld } from './world.ts';

describeDesk('room', createWorld);
