import { expect, test } from 'vitest';
import { outputName } from '../../src/cli/check-output.ts';
import { progressLine } from '../../src/cli/progress-line.ts';

test.each([
  ['clips/squat.mp4', 'squat'],
  ['-x.mp4', 'x'],
  ['.hidden.mov', 'hidden'],
  ['two\nlines.mp4', 'two-lines'],
  [`it's "quoted".mp4`, 'it-s-quoted'],
  ['../../etc/passwd', 'passwd'],
  ['..', 'clip'],
  ['💪.mp4', 'clip'],
  ['Kniebeuge_Größe.mp4', 'Kniebeuge_Größe'],
  [`${'long'.repeat(40)}.mp4`, 'long'.repeat(15)],
])('%j gives the name %j', (file, name) => {
  expect(outputName(file, new Set())).toBe(name);
});

test('no two clips of one run get one name, also where case does not count', () => {
  const taken = new Set<string>();
  expect(['a/set.mp4', 'b/set.mp4', 'c/SET.mov'].map((file) => outputName(file, taken))).toEqual(['set', 'set-2', 'SET-3']);
});

test('a progress line is cut to the terminal, taken away, and not there in a pipe', () => {
  const written: string[] = [];
  const write = (text: string | Uint8Array) => written.push(String(text)) > 0;
  const line = progressLine({ write, isTTY: true, columns: 8 });
  line.show('squat.mp4 50 %');
  line.clear();
  expect(written).toEqual(['\r\x1b[2Ksquat.m', '\r\x1b[2K']);
  progressLine({ write }).show('squat');
  expect(written).toHaveLength(2);
});
