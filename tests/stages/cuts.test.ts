import { describe, expect, test } from 'vitest';
import { createCuts } from '../../workers/stages/cuts.ts';
import { createSmallGray } from '../../workers/stages/small-gray.ts';
import { createTexture, paint } from './scene.ts';

const [widthPx, heightPx, fps] = [288, 512, 15];
const [gym, street] = [createTexture(3), createTexture(5)];

function watch(seconds: number, levelAt: (x: number, y: number, timeS: number) => number) {
  const [gray, stage] = [createSmallGray(), createCuts()];
  for (let i = 0; i < seconds * fps; i++) stage.push(gray(paint(widthPx, heightPx, i / fps, (x, y) => levelAt(x, y, i / fps))));
  const fact = stage.facts();
  if (!fact.known) throw new Error(fact.reason);
  return { times: fact.value, confidence: fact.confidence ?? 0 };
}

describe('cuts', () => {
  test('hard cuts are found at their times, and surely', () => {
    const { times, confidence } = watch(5, (x, y, timeS) => (timeS >= 1.4 && timeS < 3.2 ? street(x, y) : gym(x, y)));
    expect(times).toEqual([expect.closeTo(1.4, 1), expect.closeTo(3.2, 1)]);
    expect(confidence).toBeGreaterThan(0.9);
  });

  test('a cut to a black card, a fade to black and a cross-fade are found', () => {
    const share = (timeS: number, fromS: number, forS: number) => Math.min(1, Math.max(0, (timeS - fromS) / forS));
    expect(watch(4, (x, y, timeS) => (timeS < 3 ? gym(x, y) : 0)).times).toEqual([expect.closeTo(3, 1)]);
    const black = watch(5, (x, y, timeS) => gym(x, y) * (1 - share(timeS, 2.5, 0.7))).times;
    expect(black).toHaveLength(1);
    expect(Math.abs(black[0]! - 2.85)).toBeLessThan(0.35);
    const crossed = watch(5, (x, y, timeS) => gym(x, y) + share(timeS, 2, 0.8) * (street(x, y) - gym(x, y))).times;
    expect(crossed).toHaveLength(1);
    expect(Math.abs(crossed[0]! - 2.4)).toBeLessThan(0.3);
  });

  test.each<[string, (x: number, y: number, timeS: number) => number]>([
    ['a still scene', (x, y) => gym(x, y)],
    ['a hard shake', (x, y, timeS) => gym(x - 60 * Math.sin(8 * timeS), y + 40 * Math.sin(11 * timeS))],
    ['a swing away of two pictures a second', (x, y, timeS) => gym(x + Math.max(0, timeS - 2) * 2 * widthPx, y)],
    ['a person crossing close by', (x, y, timeS) => (Math.abs(x - 300 * (timeS - 1)) < 90 ? street(x, y) / 2 : gym(x, y))],
    ['exposure falling at once', (x, y, timeS) => gym(x, y) * (timeS < 2 ? 1 : 0.45)],
    ['light growing slowly', (x, y, timeS) => gym(x, y) * (0.3 + 0.15 * timeS)],
    ['a flash', (x, y, timeS) => (Math.abs(timeS - 2) < 0.04 ? 250 : gym(x, y))],
  ])('no cut: %s', (_name, levelAt) => {
    expect(watch(4, levelAt).times).toEqual([]);
  });

  test('two frames are too few to tell', () => {
    const [gray, stage] = [createSmallGray(), createCuts()];
    for (const timeS of [0, 0.07]) stage.push(gray(paint(widthPx, heightPx, timeS, gym)));
    expect(stage.facts()).toEqual({ known: false, reason: 'too-few-frames' });
  });
});
