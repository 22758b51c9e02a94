import { expect, test } from 'vitest';
import { z } from 'zod';
import { defineRule, found, pass } from '../../src/rules/define.ts';
import { exampleFacts } from '../facts-example.ts';
import { faultsOf } from './rule-tester.ts';

const tilt = defineRule({
  id: 'tilt',
  docs: 'Made up.',
  severity: 'fix',
  importance: 1,
  options: z.strictObject({ maxDeg: z.number().default(5), name: z.string().default('x') }),
  messages: { tilted: ['deg'], upturned: [] },
  check: ({ options }) => (options.maxDeg > 5 ? pass : found('tilted', { deg: 6 })),
});

test('the tester names doubles, unshown messages and untested thresholds', () => {
  const facts = exampleFacts('squat');
  const tables = {
    pass: [
      { name: 'a', facts },
      { name: 'b', facts },
    ],
    fail: [],
    cannotTell: [],
    edges: {
      maxDegrees: [
        { name: 'c', facts },
        { name: 'd', facts },
      ] as const,
    },
  };
  expect(faultsOf(tilt, tables as never)).toEqual([
    '"b" is the same case as "a"',
    'no case shows message "tilted"',
    'no case shows message "upturned"',
    'no edge tests option "maxDeg" on both sides',
    'edge of unknown option "maxDegrees"',
  ]);
});
