import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { measuringPool } from '../../src/cli/measured-clips.ts';
import { setRecordOf } from '../../src/record/set-record.ts';

const fixture = (name: string) => fileURLToPath(new URL(`../fixtures/record/${name}`, import.meta.url));
interface Truth {
  fps: number;
  statureM: number;
  reps: { turnEnd: number; end: number }[];
  barM: number[];
}

it('measures the bar of a rendered squat within its spread, with and without the stature', { timeout: 240_000 }, async () => {
  const truth: Truth = JSON.parse(readFileSync(fixture('squat-rear-quarter.json'), 'utf8'));
  const measuring = measuringPool(1);
  const answer = await measuring.measure(fixture('squat-rear-quarter.mp4')).finally(() => measuring.pool.close());
  if (answer.kind !== 'facts') throw new Error(answer.kind);

  const [way] = truth.reps;
  const heightM = (timeS: number) => truth.barM[Math.round(timeS * truth.fps)]!;
  // the bar starts and ends softly; leaving out where it is slower than a tenth of its peak makes its mean 5 % faster (stick-figure test)
  const meanMps = (1.05 * (heightM(way!.end) - heightM(way!.turnEnd))) / (way!.end - way!.turnEnd);
  const peakMps = Math.max(...truth.barM.slice(1).map((m, i) => (m - truth.barM[i]!) * truth.fps));

  for (const statureM of [truth.statureM, null]) {
    const [rep, ...others] = setRecordOf(answer.facts, { lift: 'squat', statureM }).reps;
    expect(others).toEqual([]);
    const speed = rep!.speed!;
    expect(Math.abs(speed.meanMps - meanMps)).toBeLessThan(speed.meanSpreadMps);
    expect(Math.abs(speed.peakMps - peakMps)).toBeLessThan(speed.peakSpreadMps);
    // a spread that says nothing would hold anything
    expect(speed.meanSpreadMps / speed.meanMps).toBeLessThan(statureM === null ? 0.18 : 0.15);
    expect(Math.abs(speed.upS - (way!.end - way!.turnEnd))).toBeLessThan(0.15);
  }
});
