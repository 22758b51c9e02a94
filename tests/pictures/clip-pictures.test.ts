import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { lifts } from '../../src/lifts/index.ts';
import { clipTimeline, placeTicks } from '../../src/pictures/clip-timeline.ts';
import { contactSheet, type Still } from '../../src/pictures/contact-sheet.ts';
import { filmingGuide } from '../../src/pictures/filming-guide.ts';
import type { Picture } from '../../src/pictures/render.ts';
import { textWidthPx } from '../../src/pictures/svg.ts';
import { clipFacts, judgementOf, repsFrom } from '../wording/clip-facts.ts';
import { overlaps, pngSize, smallestTextPx, textBoxes } from './read-svg.ts';

const options = { language: 'en' };
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'quarterview-pictures-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function readable({ svg, png, alt }: Picture): void {
  expect(overlaps(textBoxes(svg))).toEqual([]);
  const { widthPx, heightPx } = pngSize(png);
  for (const box of textBoxes(svg)) {
    expect(box.left, box.text).toBeGreaterThanOrEqual(10);
    expect(box.right, box.text).toBeLessThanOrEqual(widthPx - 10);
    expect(box.bottom, box.text).toBeLessThanOrEqual(heightPx - 4);
  }
  expect(smallestTextPx(svg)).toBeGreaterThanOrEqual(26);
  expect(`${svg.replace(/base64,[^"]*/g, '')}${alt}`).not.toMatch(/NaN|undefined|Infinity/);
}

/** Left edge and width in px of the boxes of one kind. */
function boxesOf(svg: string, kind: string): { x: number; width: number }[] {
  return [...svg.matchAll(new RegExp(`<rect class="${kind}" x="([\\d.]+)" y="[\\d.]+" width="([\\d.]+)"`, 'g'))].map(
    ([, x, width]) => ({ x: Number(x), width: Number(width) }),
  );
}

describe('clipTimeline', () => {
  it.each([
    { name: 'two reps in three minutes', durationS: 180, reps: repsFrom(100, 2), trim: { startS: 99, endS: 109 } },
    { name: 'ten reps', durationS: 45, reps: repsFrom(2, 10), trim: null },
    { name: 'twenty quick reps', durationS: 60, reps: repsFrom(5, 20, 1.5, 0.5), trim: { startS: 4, endS: 46 } },
    { name: 'ten reps in ten minutes', durationS: 600, reps: repsFrom(280, 10, 2, 1), trim: { startS: 279, endS: 311 } },
    { name: 'cut at the very start', durationS: 60, reps: repsFrom(1, 1, 5), trim: { startS: 0, endS: 8 } },
    { name: 'cut at the very end', durationS: 60, reps: repsFrom(50, 2, 4), trim: { startS: 49, endS: 60 } },
    { name: 'one rep, nothing to cut', durationS: 5, reps: repsFrom(1, 1), trim: null },
    { name: 'reps unknown', durationS: 45, reps: undefined, trim: null },
    { name: 'no rep', durationS: 45, reps: [], trim: null },
  ])('reads well: $name', ({ durationS, reps, trim }) => {
    const picture = clipTimeline(judgementOf({ trim }), clipFacts({ durationS, ...(reps ? { reps } : {}) }), options);
    readable(picture);
    expect(pngSize(picture.png)).toEqual({ widthPx: 720, heightPx: 240 });
    expect(boxesOf(picture.svg, 'rep')).toHaveLength(reps?.length ?? 0);
    expect(picture.svg.match(/class="cut"/g) ?? []).toHaveLength(
      trim ? [trim.startS > 0, trim.endS < durationS].filter(Boolean).length : 0,
    );
  });

  it('draws time to scale', () => {
    const { svg } = clipTimeline(
      judgementOf({ trim: { startS: 10, endS: 40 } }),
      clipFacts({ durationS: 60, reps: repsFrom(15, 2, 6, 9) }),
      options,
    );
    const [before, after] = boxesOf(svg, 'dead');
    const [one, two] = boxesOf(svg, 'rep');
    const perS = before!.width / 10;
    expect(after!.width / perS).toBeCloseTo(20, 1);
    expect((one!.x - before!.x) / perS).toBeCloseTo(15, 1);
    expect((two!.x - one!.x) / perS).toBeCloseTo(15, 1);
  });

  it('says in its alt text what it shows', () => {
    const { alt } = clipTimeline(
      judgementOf({ trim: { startS: 11, endS: 21 } }),
      clipFacts({ durationS: 42, reps: repsFrom(12, 2) }),
      options,
    );
    expect(alt).toBe(
      'Timeline of the clip, 0:42 long. 2 reps: 1 at 0:12–0:15, 2 at 0:16–0:19. Kept is 0:11 to 0:21; the rest is cut.',
    );
  });

  it('refuses a clip of unknown length', () => {
    expect(() =>
      clipTimeline(judgementOf({}), { ...clipFacts({}), clip: { known: false, reason: 'container-silent' } }, options),
    ).toThrow(RangeError);
  });
});

describe('placeTicks', () => {
  it('keeps those that must stand, moved aside, and drops others in their way', () => {
    const ticks = [
      { xPx: 300, text: '1:39', must: true },
      { xPx: 310, text: '1:41', must: true },
      { xPx: 290, text: '1:30', must: false },
    ];
    const placed = placeTicks(ticks, 26);
    expect(placed.map(({ text }) => text)).toEqual(['1:39', '1:41']);
    expect(Math.abs(placed[0]!.xPx - placed[1]!.xPx)).toBeGreaterThanOrEqual(textWidthPx('1:39', 26));
  });
});

describe('contactSheet', () => {
  function stills(reps: number, size: string, colour: string): Still[] {
    const [widthPx, heightPx] = size.split('x').map(Number) as [number, number];
    const file = join(folder, `${size}-${colour}.jpg`);
    execFileSync('ffmpeg', ['-v', 'error', '-y', '-f', 'lavfi', '-i', `color=${colour}:s=${size}`, '-frames:v', '1', file]);
    const jpeg = readFileSync(file);
    return Array.from({ length: reps }, (_, rep) =>
      (['start', 'turn', 'lockout'] as const).map((moment) => ({ jpeg, widthPx, heightPx, rep: rep + 1, moment })),
    ).flat();
  }

  it.each([
    [1, '270x480'],
    [3, '270x480'],
    [8, '270x480'],
    [3, '480x270'],
    [10, '480x270'],
  ])('lays out %d reps of %s', (reps, size) => {
    const picture = contactSheet(stills(reps, size, 'red'), { ...options, lift: 'squat' });
    readable(picture);
    expect(pngSize(picture.png).widthPx).toBe(720);
    expect(picture.svg.match(/<image /g)).toHaveLength(reps * 3);
    expect(picture.alt).toContain(`${reps} rep`);
  });

  it('really shows the stills (decoded by ffmpeg)', () => {
    const { png } = contactSheet(stills(1, '270x480', 'red'), { ...options, lift: null });
    const file = join(folder, 'sheet.png');
    writeFileSync(file, png);
    const { widthPx } = pngSize(png);
    const pixels = execFileSync('ffmpeg', ['-v', 'error', '-i', file, '-f', 'rawvideo', '-pix_fmt', 'rgb24', '-'], {
      maxBuffer: 1e8,
    });
    const at = (200 * widthPx + 130) * 3;
    expect(pixels[at]!).toBeGreaterThan(230);
    expect(pixels[at + 1]!).toBeLessThan(30);
  });

  it('keeps the order of the clip and leaves the place of a missing still empty', () => {
    const all = stills(2, '270x480', 'blue').filter(({ rep, moment }) => !(rep === 1 && moment === 'turn'));
    const shuffled = contactSheet([...all].reverse(), { ...options, lift: 'squat' });
    expect(shuffled.svg).toBe(contactSheet(all, { ...options, lift: 'squat' }).svg);
    const lockouts = textBoxes(shuffled.svg).filter(({ text }) => text === 'lockout');
    expect(lockouts[0]!.left).toBe(lockouts[1]!.left);
  });

  it('refuses to draw nothing', () => {
    expect(() => contactSheet([], { ...options, lift: null })).toThrow(RangeError);
  });
});

describe('filmingGuide', () => {
  it.each(lifts.map((lift) => ({ id: lift.id, lift })))('shows how to film the $id', ({ lift }) => {
    const picture = filmingGuide(lift, options);
    readable(picture);
    expect(picture.svg.match(/class="zone"/g)).toHaveLength(lift.zones.length * 2);
    expect(picture.alt).toMatch(/tripod/i);
    expect(picture.alt).toContain(`${lift.distanceM[0]}–${lift.distanceM[1]} m`);
    expect(picture.alt).toMatch(/safeties stay in place/i);
  });
});
