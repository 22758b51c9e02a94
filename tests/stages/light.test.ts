import { describe, expect, test } from 'vitest';
import { createLight } from '../../workers/stages/light.ts';
import { createSmallGray } from '../../workers/stages/small-gray.ts';
import { paint } from './scene.ts';

const [widthPx, heightPx] = [288, 512];
const lifter = { x: 94, y: 100, widthPx: 100, heightPx: 320 };

/** A room of one level with a lifter of another. */
function watch(room: number, body: number, box: typeof lifter | null = lifter) {
  const [gray, stage] = [createSmallGray(), createLight()];
  const inBody = (x: number, y: number) =>
    x >= lifter.x && x < lifter.x + lifter.widthPx && y >= lifter.y && y < lifter.y + lifter.heightPx;
  for (let i = 0; i < 10; i++) {
    stage.push(gray(paint(widthPx, heightPx, i * 0.3, (x, y) => (inBody(x, y) ? body : room))), box);
  }
  const fact = stage.facts();
  if (!fact.known) throw new Error(fact.reason);
  return { ...fact.value, confidence: fact.confidence ?? 0 };
}

describe('light', () => {
  test('luma is that of Rec. 709: 0.2126 red, 0.7152 green, 0.0722 blue', () => {
    const gray = createSmallGray();
    for (const [channel, luma] of [0.2126, 0.7152, 0.0722].entries()) {
      const data = new Uint8Array(16 * 16 * 3).fill(0);
      for (let at = channel; at < data.length; at += 3) data[at] = 200;
      expect(gray({ data, widthPx: 16, heightPx: 16, timeS: 0 }).data[5]).toBe(Math.round(200 * luma));
    }
  });

  test('the mean is that of the picture', () => {
    const share = (lifter.widthPx * lifter.heightPx) / (widthPx * heightPx);
    expect(watch(160, 60).mean).toBeCloseTo((160 * (1 - share) + 60 * share) / 255, 3);
  });

  test('a bright room, a dark room, a lit lifter in a dark room', () => {
    expect(watch(150, 120)).toMatchObject({ dark: false, backlit: false });
    const dark = watch(24, 15);
    expect(dark).toMatchObject({ dark: true, backlit: false });
    expect(dark.confidence).toBeGreaterThan(0.9);
    expect(watch(24, 110)).toMatchObject({ dark: false });
    expect(watch(24, 15, null)).toMatchObject({ dark: true });
  });

  test('a lifter in front of a bright window is backlit, in front of a gray wall only dark-clothed', () => {
    expect(watch(240, 50)).toMatchObject({ dark: false, backlit: true });
    expect(watch(240, 140)).toMatchObject({ backlit: false });
    expect(watch(120, 40)).toMatchObject({ backlit: false });
    expect(watch(240, 50, null)).toMatchObject({ backlit: false });
  });

  test('no frame, no fact', () => {
    expect(createLight().facts()).toEqual({ known: false, reason: 'too-few-frames' });
  });
});
