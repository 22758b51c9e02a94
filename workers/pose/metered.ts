import type { PoseEngine } from './engine.ts';

/** The same engine, which also tells what CPU time the process took, in seconds, while it was asked: what else runs meanwhile counts too. */
export function metered(engine: PoseEngine): PoseEngine & { cpuS(): number } {
  let [spentS, running, since] = [0, 0, process.cpuUsage()];
  const spend = async <T>(work: () => Promise<T>): Promise<T> => {
    // calls may overlap: the time counts once, from the first that begins to the last that ends
    if (running++ === 0) since = process.cpuUsage();
    try {
      return await work();
    } finally {
      if (--running === 0) {
        const { user, system } = process.cpuUsage(since);
        spentS += (user + system) / 1e6; // given in microseconds
      }
    }
  };
  return {
    detect: (...args) => spend(() => engine.detect(...args)),
    landmarks: (...args) => spend(() => engine.landmarks(...args)),
    landmarksFromCrop: (...args) => spend(() => engine.landmarksFromCrop(...args)),
    close: () => engine.close(),
    cpuS: () => spentS,
  };
}
