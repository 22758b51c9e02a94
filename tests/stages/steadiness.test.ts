import { describe, expect, test } from 'vitest';
import { createSmallGray } from '../../workers/stages/small-gray.ts';
import { createSteadiness, movesMuch } from '../../workers/stages/steadiness.ts';
import { createRandom, createTexture, paint } from './scene.ts';

const [widthPx, heightPx, fps] = [288, 512, 15];
const wall = createTexture(3);
const person = createTexture(9);

type Scene = {
  seconds?: number;
  /** Shift of the wall in picture px, right and down. */
  wallAt?: (timeS: number) => [number, number];
  /** A person of this box who moves down by some px. */
  person?: { x: number; y: number; widthPx: number; heightPx: number; downPx: (timeS: number) => number };
  masked?: boolean;
  gain?: (timeS: number) => number;
  noise?: number;
};

function watch({ seconds = 4, wallAt = () => [0, 0], person: body, masked = true, gain = () => 1, noise = 0 }: Scene) {
  const [gray, stage, random] = [createSmallGray(), createSteadiness(), createRandom(1)];
  for (let i = 0; i < seconds * fps; i++) {
    const timeS = i / fps;
    const [dx, dy] = wallAt(timeS);
    const down = body?.downPx(timeS) ?? 0;
    const frame = paint(widthPx, heightPx, timeS, (x, y) => {
      const onBody = body && x >= body.x && x < body.x + body.widthPx && y >= body.y + down && y < body.y + body.heightPx + down;
      const level = onBody ? person(x, y - down) : wall(x - dx, y - dy);
      return Math.min(255, gain(timeS) * level + noise * (random() + random() - 1));
    });
    stage.push(gray(frame), body && masked ? [{ ...body, y: body.y + down }] : []);
  }
  return stage;
}

function measured(stage: ReturnType<typeof watch>, window?: { startS: number; endS: number }) {
  const fact = stage.facts(window);
  if (!fact.known) throw new Error(fact.reason);
  return { ...fact.value, confidence: fact.confidence ?? 0 };
}

describe('steadiness', () => {
  test('a still wall is a tripod, under noise and changing light too', () => {
    expect(measured(watch({}))).toMatchObject({ class: 'tripod' });
    const seen = measured(watch({ noise: 12, gain: (timeS) => 1 - 0.1 * timeS }));
    expect(seen.class).toBe('tripod');
    expect(seen.rmsPerS).toBeLessThan(0.003);
  });

  test('the path is that of the wall to a tenth of a pixel', () => {
    const wallAt = (timeS: number): [number, number] => [9 * Math.sin(2.1 * timeS), 4.3 * timeS];
    const stage = watch({ wallAt });
    for (const { timeS, dxShare, dyShare } of stage.path()) {
      const [dx, dy] = wallAt(timeS);
      expect(Math.abs(dxShare * widthPx - dx)).toBeLessThan(0.2); // 0.1 px of the halved picture
      expect(Math.abs(dyShare * widthPx - dy)).toBeLessThan(0.2);
    }
  });

  // a sine of amplitude A and angular speed w has an rms speed of A w / sqrt 2
  test.each([
    { amplitudePx: 1.4, speed: 4, class: 'propped-or-held' },
    { amplitudePx: 6, speed: 4, class: 'propped-or-held' },
    { amplitudePx: 24, speed: 5, class: 'moving' },
  ])('rms speed of a sway of $amplitudePx px is known: $class', ({ amplitudePx, speed, class: wanted }) => {
    const seen = measured(watch({ seconds: 5, wallAt: (timeS) => [amplitudePx * Math.sin(speed * timeS), 0] }));
    const truth = (amplitudePx * speed) / Math.SQRT2 / widthPx;
    expect(seen.class).toBe(wanted);
    // the speed is taken over 0.2 s, which hides some of the sway
    expect(seen.rmsPerS / truth).toBeGreaterThan(0.9);
    expect(seen.rmsPerS / truth).toBeLessThan(1.08);
  });

  const lifter = { x: 60, y: 60, widthPx: 170, heightPx: 330, downPx: (timeS: number) => 50 * (1 - Math.cos(2 * timeS)) };

  test('a lifter who fills the picture does not move the camera', () => {
    expect(measured(watch({ person: lifter }))).toMatchObject({ class: 'tripod' });
  });

  test('a lifter of a third of the width does not move it even where no box is known', () => {
    const slim = { ...lifter, x: 95, widthPx: 96 };
    expect(measured(watch({ person: slim, masked: false }))).toMatchObject({ class: 'tripod' });
  });

  test('jerks of a tenth of the picture from one frame to the next are followed', () => {
    const wallAt = (timeS: number): [number, number] => [Math.floor(timeS) % 2 === 0 ? 0 : 45, 0];
    const path = watch({ wallAt }).path();
    expect(path.at(-1)!.dxShare * widthPx).toBeCloseTo(45, 0);
    expect(path[40]!.dxShare).toBeCloseTo(0, 2);
  });

  test('a window leaves out the phone being put down', () => {
    const stage = watch({ seconds: 5, wallAt: (timeS) => [timeS < 1 ? 40 * Math.sin(9 * timeS) : 40 * Math.sin(9), 0] });
    expect(measured(stage).class).toBe('moving');
    expect(measured(stage, { startS: 1.4, endS: 5 }).class).toBe('tripod');
  });

  test('a camera that sways all the time moves much, one that is turned once does not', () => {
    const pathOf = (wallAt: (timeS: number) => [number, number]) => watch({ seconds: 5, wallAt }).path();
    expect(movesMuch(pathOf((timeS) => [24 * Math.sin(5 * timeS), 0]))).toBe(true);
    const turned = (timeS: number): [number, number] => [timeS < 1 ? 40 * Math.sin(9 * timeS) : 40 * Math.sin(9), 0];
    expect(movesMuch(pathOf(turned))).toBe(false);
    expect(movesMuch([])).toBe(false);
  });

  test('a blank wall, darkness and a single frame tell nothing', () => {
    const [gray, stage] = [createSmallGray(), createSteadiness()];
    expect(stage.facts()).toEqual({ known: false, reason: 'too-few-frames' });
    for (let i = 0; i < 20; i++) stage.push(gray(paint(widthPx, heightPx, i / fps, () => 6)), []);
    expect(stage.facts()).toEqual({ known: false, reason: 'too-dark' });
    expect(watch({ seconds: 1 / fps }).facts()).toEqual({ known: false, reason: 'too-few-frames' });
  });
});
