const period = 512;

/** A smooth texture without end (it repeats after 512 px), waves of 15 to 70 px in all directions, luma about 30..220. */
export function createTexture(seed: number): (x: number, y: number) => number {
  const random = createRandom(seed);
  const table = new Float32Array(period * period);
  for (let wave = 0; wave < 14; wave++) {
    const [turns, angle, phase] = [period / (15 + 55 * random()), 2 * Math.PI * random(), 2 * Math.PI * random()];
    const [kx, ky] = [Math.cos(angle), Math.sin(angle)].map((part) => (2 * Math.PI * Math.round(turns * part)) / period);
    for (let at = 0; at < table.length; at++) table[at]! += 25 * Math.sin(kx! * (at % period) + ky! * (at >> 9) + phase);
  }
  return (x, y) => {
    const [x0, y0] = [Math.floor(x), Math.floor(y)];
    const [fx, fy] = [x - x0, y - y0];
    const row = (yy: number) => {
      const start = (yy & (period - 1)) * period;
      return table[start + (x0 & (period - 1))]! * (1 - fx) + table[start + ((x0 + 1) & (period - 1))]! * fx;
    };
    return Math.min(220, Math.max(30, 125 + row(y0) * (1 - fy) + row(y0 + 1) * fy));
  };
}

/** Numbers 0..1 that are the same for the same seed (mulberry32). */
export function createRandom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** An rgb24 picture of gray levels. */
export function paint(widthPx: number, heightPx: number, timeS: number, levelAt: (x: number, y: number) => number) {
  const data = new Uint8Array(widthPx * heightPx * 3);
  for (let y = 0, at = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++, at += 3) {
      const level = Math.round(levelAt(x, y));
      data[at] = level;
      data[at + 1] = level;
      data[at + 2] = level;
    }
  }
  return { data, widthPx, heightPx, timeS };
}
