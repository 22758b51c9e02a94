import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Facts } from '../../src/facts/facts.ts';

const command = fileURLToPath(new URL('../../src/cli/check.ts', import.meta.url));
const run = (...args: string[]) => spawnSync(process.execPath, ['--import', 'tsx', command, ...args], { encoding: 'utf8' });

let folder: string;
let clip: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'check-'));
  clip = join(folder, 'clip.mp4');
  const source = ['-f', 'lavfi', '-i', 'gradients=size=180x320:rate=30:duration=2:seed=3'];
  execFileSync('ffmpeg', ['-v', 'error', ...source, '-pix_fmt', 'yuv420p', clip]);
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('check', () => {
  it('gives one JSON object a line with valid facts, and says that it sees nobody', () => {
    const { status, stdout } = run(clip, '--json', '--caption', 'squat 100kg x5');
    expect(status).toBe(0);
    const lines = stdout.trim().split('\n');
    expect(lines).toHaveLength(1);
    const { verdict, facts } = JSON.parse(lines[0]!);
    expect(verdict).toBe('fix');
    expect(facts.people).toEqual({ known: false, reason: 'no-lifter' });
    expect(Facts.parse(facts).clip).toMatchObject({
      known: true,
      value: { widthPx: 180, heightPx: 320, fps: 30, codec: 'h264' },
    });
    expect(facts.caption.value).toMatchObject({ lift: 'squat', loadKg: 100, reps: 5 });
  });

  it('goes on after a file that is no video, and exits with 1', () => {
    const text = join(folder, 'notes.mp4');
    writeFileSync(text, 'not a video at all');
    const { status, stdout, stderr } = run(text, clip, '--json');
    expect(status).toBe(1);
    expect(stderr).toBe('');
    const [bad, good] = stdout
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(bad.error.code).toBe('clip-not-video');
    expect(good.verdict).toBe('fix');
  });

  it('exits with 2 and tells the usage on wrong words', () => {
    for (const args of [[], [clip, '--lift', 'juggling'], [clip, '--colour']]) {
      const { status, stderr } = run(...args);
      expect(status).toBe(2);
      expect(stderr).toContain('check FILE...');
    }
  });
});
