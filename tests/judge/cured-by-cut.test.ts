import { expect, it } from 'vitest';
import { curedByCut } from '../../src/judge/cured-by-cut.ts';

const fix = (rule: string, message: string, severity: 'fix' | 'advise' = 'fix') => ({ rule, message, severity, numbers: {} });
const trim = { startS: 2, endS: 6 };

it.each([
  ['a clip on its side', [fix('orientation', 'sideways')], null, true],
  ['waiting on a clip that is upside down', [fix('orientation', 'upside-down'), fix('dead-time', 'tail')], trim, true],
  ['waiting that cannot be trimmed', [fix('dead-time', 'tail')], null, false],
  ['a cut outside the lift', [fix('cuts', 'cut-outside')], trim, true],
  ['a cut inside the lift', [fix('cuts', 'cut-inside')], trim, false],
  ['a rest between two reps', [fix('dead-time', 'rest-between')], trim, false],
  ['a wrong view besides', [fix('orientation', 'sideways'), fix('view', 'outside-accepted')], trim, false],
  ['advice besides', [fix('orientation', 'sideways'), fix('light', 'backlit', 'advise')], null, true],
  ['advice alone', [fix('light', 'backlit', 'advise')], trim, false],
  ['nothing', [], trim, false],
])('%s: %#', (_, findings, part, cured) => {
  expect(curedByCut({ findings, trim: part })).toBe(cured);
});
