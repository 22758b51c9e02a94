import { measuringPool, projectPath } from '../../src/cli/measured-clips.ts';
import { cpuSecondsOf } from '../../src/queue/process-cpu.ts';

/** How fast clips are measured for real. */
export interface Rate {
  processes: number;
  clips: number;
  wallS: number;
  /** CPU of this process and all measuring processes. */
  cpuS: number;
}

/**
 * Measures the project's sample clip again and again by `processes` processes, `clipsEach` times each and for `mostS` at most, after one
 * clip each that loads the models. Throws when a clip cannot be measured.
 */
export async function measuringRate(processes: number, clipsEach: number, mostS: number): Promise<Rate> {
  const measuring = measuringPool(processes);
  const file = projectPath('samples/squat-side.mp4');
  const one = async () => {
    const answer = await measuring.measure(file);
    if (answer.kind !== 'facts' || !answer.facts.reps.known)
      throw new Error(`the sample clip was not measured: ${JSON.stringify(answer)}`);
  };
  try {
    await Promise.all(Array.from({ length: processes }, one));
    const [startMs, startCpuS] = [performance.now(), cpuSecondsOf(process.pid)];
    let clips = 0;
    await Promise.all(
      Array.from({ length: processes }, async () => {
        for (let i = 0; i < clipsEach && performance.now() - startMs < mostS * 1000; i += 1) {
          await one();
          clips += 1;
        }
      }),
    );
    return { processes, clips, wallS: (performance.now() - startMs) / 1000, cpuS: cpuSecondsOf(process.pid) - startCpuS };
  } finally {
    await measuring.pool.close();
  }
}
