import { OrthographicCamera, Vector3 } from 'three';
import { describe, expect, it } from 'vitest';
import type { HeightClass, LiftId } from '../../src/facts/facts.ts';
import type { Judgement } from '../../src/judge/judgement.ts';
import { liftOf } from '../../src/lifts/index.ts';
import { cameraPlacement, zonesToShade } from '../../src/pictures/camera-placement.ts';
import { clipFacts, judgementOf } from '../wording/clip-facts.ts';
import { markAt, overlaps, pngSize, smallestTextPx, textBoxes } from './read-svg.ts';

const options = { language: 'en' };

function judged(lift: LiftId, wantedDeg: number, wrong = true): Judgement {
  const { heightM, distanceM } = liftOf(lift)!;
  return judgementOf({
    verdict: wrong ? 'fix' : 'clean',
    lift,
    wanted: { azimuthDeg: wantedDeg, heightM: [...heightM], distanceM: [...distanceM] },
    findings: wrong
      ? [{ rule: 'view', message: 'outside-accepted', severity: 'fix', numbers: { azimuthDeg: 0, wantedDeg } }]
      : [],
  });
}

/**
 * Outside reference: where three.js draws a camera at an azimuth around a lifter at the origin who faces +z (left hand +x), seen by a
 * camera straight above whose top of the picture is the lifter's front. Unit vector, x to the right and y up in the picture.
 */
function fromAbove(azimuthDeg: number): { x: number; y: number } {
  const eye = new OrthographicCamera(-2, 2, 2, -2, 0.1, 20);
  eye.position.set(0, 10, 0);
  eye.up.set(0, 0, 1);
  eye.lookAt(0, 0, 0);
  eye.updateMatrixWorld();
  const at = new Vector3(0, 0, 1).applyAxisAngle(new Vector3(0, 1, 0), (azimuthDeg * Math.PI) / 180).project(eye);
  const size = Math.hypot(at.x, at.y);
  return { x: at.x / size, y: at.y / size };
}

/** Middle of the dotted ring, px. */
function middle(svg: string): { x: number; y: number } {
  const [, x, y] = /<circle cx="(\d+)" cy="(\d+)" r="\d+" fill="none"/.exec(svg)!;
  return { x: Number(x), y: Number(y) };
}

describe('cameraPlacement', () => {
  it.each([0, 20, 45, 90, 135, 170, 180, -20, -45, -90, -135, -170])(
    'draws the phone at %d degrees where three.js sees it from above',
    (azimuthDeg) => {
      const { svg } = cameraPlacement(judged('squat', azimuthDeg < 0 ? -135 : 135), clipFacts({ azimuthDeg }), options);
      const centre = middle(svg);
      const mark = markAt(svg, 'now')!;
      const size = Math.hypot(mark.x - centre.x, mark.y - centre.y);
      const seen = fromAbove(azimuthDeg);
      expect((mark.x - centre.x) / size).toBeCloseTo(seen.x, 3);
      expect((centre.y - mark.y) / size).toBeCloseTo(seen.y, 3);
      const want = markAt(svg, 'want')!;
      const wanted = fromAbove(azimuthDeg < 0 ? -135 : 135);
      expect((want.x - centre.x) / size).toBeCloseTo(wanted.x, 3);
    },
  );

  const heights: (HeightClass | undefined)[] = ['floor', 'low', 'waist', 'head', 'above', undefined];
  const cases = (['squat', 'press', 'deadlift', 'bench'] as const).flatMap((lift) =>
    [0, 30, 45, 60, 90, 110, 135, 160, 180, -70, -95, -120, undefined].map((azimuthDeg, i) => ({
      lift,
      azimuthDeg,
      heightClass: heights[i % heights.length],
    })),
  );
  it.each(cases)(
    'keeps its texts apart, inside and large: $lift at $azimuthDeg, height $heightClass',
    ({ lift, azimuthDeg, heightClass }) => {
      const aim = liftOf(lift)!.zones[0]!.aimDeg;
      const shown = {
        ...(azimuthDeg === undefined ? {} : { azimuthDeg }),
        ...(heightClass ? { heightClass } : {}),
        spreadDeg: 20,
      };
      const { svg, alt } = cameraPlacement(judged(lift, (azimuthDeg ?? 0) < 0 ? -aim : aim), clipFacts(shown), options);
      const boxes = textBoxes(svg);
      expect(overlaps(boxes)).toEqual([]);
      for (const box of boxes) {
        expect(box.left, box.text).toBeGreaterThanOrEqual(10);
        expect(box.right, box.text).toBeLessThanOrEqual(710);
        expect(box.bottom, box.text).toBeLessThanOrEqual(712);
      }
      expect(smallestTextPx(svg)).toBeGreaterThanOrEqual(26);
      expect(`${svg}${alt}`).not.toMatch(/NaN|undefined|Infinity/);
    },
  );

  it.each(['squat', 'press', 'deadlift', 'bench', 'other', null] as const)(
    'writes left and right beside the plates: %s',
    (lift) => {
      const { svg } = cameraPlacement(judgementOf({ lift }), clipFacts({ azimuthDeg: 135 }), options);
      const plates = [...svg.matchAll(/<rect x="([\d.]+)" y="([\d.]+)" width="14" height="52"/g)].map(([, x, y]) => ({
        text: 'plate',
        left: Number(x),
        right: Number(x) + 14,
        top: Number(y),
        bottom: Number(y) + 52,
      }));
      const words = textBoxes(svg).filter(({ text }) => text === 'left' || text === 'right');
      expect([plates.length, words.length]).toEqual([2, 2]);
      expect(overlaps([...plates, ...words])).toEqual([]);
    },
  );

  it('says in its alt text what it shows', () => {
    const { alt } = cameraPlacement(judged('squat', -135), clipFacts({ azimuthDeg: -85, heightClass: 'floor' }), options);
    expect(alt.replaceAll('\u00a0', ' ')).toBe(
      "Drawing of the phone's place, seen from above. Now: Square to your right side, on the floor. Wanted: Behind your right shoulder, 1.5–1.8 m (5–6 ft) high, 2.5–4 m (8–13 ft) away. The walk from one to the other is about 50 degrees round you.",
    );
  });

  it('draws only the wanted place when the view is unknown, and only the seen one when it is right', () => {
    const unknown = cameraPlacement(judged('squat', 135, false), clipFacts({}), options);
    expect(markAt(unknown.svg, 'now')).toBeNull();
    expect(markAt(unknown.svg, 'want')).not.toBeNull();
    expect(unknown.alt).toContain('could not be told');
    const right = cameraPlacement(judged('squat', 140, false), clipFacts({ azimuthDeg: 140 }), options);
    expect(markAt(right.svg, 'want')).toBeNull();
    expect(markAt(right.svg, 'now')).not.toBeNull();
    expect(right.svg).not.toContain('id="walk"');
  });

  it.each([
    ['distance', 'too-far', 7.3, 'closer', -1],
    ['distance', 'too-near', 1.2, 'back', 1],
  ])('points where to step for %s/%s, with the distance in words', (rule, message, distanceM, id, way) => {
    const finding = { rule, message, severity: 'fix', numbers: {} } as const;
    const shown = clipFacts({ azimuthDeg: 140, heightClass: 'head', distanceM });
    const { svg, alt } = cameraPlacement({ ...judged('squat', 140, false), findings: [finding] }, shown, options);
    const centre = middle(svg);
    const [, x0, y0, x1, y1] = new RegExp(`id="${id}"><path d="M([\\d.]+) ([\\d.]+) .*?([\\d.]+) ([\\d.]+)"`).exec(svg)!;
    const far = (x?: string, y?: string) => Math.hypot(Number(x) - centre.x, Number(y) - centre.y);
    expect(Math.sign(far(x1, y1) - far(x0, y0))).toBe(way);
    expect(alt.replaceAll('\u00a0', ' ')).toContain(`${distanceM} m (`);
    expect(overlaps(textBoxes(svg))).toEqual([]);
    const pill = textBoxes(svg).find(({ text, bottom }) => text === 'now' && bottom < 540)!;
    const [tipX, tipY] = [Number(x1), Number(y1)];
    expect(tipX > pill.left - 16 && tipX < pill.right + 16 && tipY > pill.bottom - 40 && tipY < pill.bottom + 10).toBe(false);
  });

  it.each([
    ['lifter-size', 'too-small', -1],
    ['distance', 'too-far', -1],
    ['distance', 'too-near', 1],
    ['light', 'dark', 0],
  ])('draws the walk to a place nearer, farther or as far away for %s/%s', (rule, message, way) => {
    const wrong = judged('squat', 135);
    const findings = [...wrong.findings, { rule, message, severity: 'fix', numbers: {} } as const];
    const { svg } = cameraPlacement({ ...wrong, findings }, clipFacts({ azimuthDeg: 65, distanceM: 7.3 }), options);
    const centre = middle(svg);
    const far = ({ x, y }: { x: number; y: number }) => Math.hypot(x - centre.x, y - centre.y);
    const [now, want] = [far(markAt(svg, 'now')!), far(markAt(svg, 'want')!)];
    expect(Math.sign(Math.round(want - now))).toBe(way);
    const ends = [.../id="walk"><path d="([^"]*)"/.exec(svg)![1]!.matchAll(/([\d.]+) ([\d.]+)/g)].map(([, x, y]) => ({
      x: Number(x),
      y: Number(y),
    }));
    expect(Math.sign(Math.round((far(ends.at(-1)!) - far(ends[0]!)) / 4))).toBe(way);
    expect(overlaps(textBoxes(svg))).toEqual([]);
  });

  it('draws something true when nothing is known', () => {
    const { svg, alt } = cameraPlacement(judgementOf({ lift: null }), clipFacts({}), options);
    expect(svg).not.toContain('class="zone"');
    expect(alt).toContain('could not be told');
  });

  it('puts the height of the phone at its place on the scale, higher for higher', () => {
    const at = (heightClass: HeightClass) =>
      markAt(cameraPlacement(judged('squat', 135), clipFacts({ azimuthDeg: 90, heightClass }), options).svg, 'now-height')!.y;
    const ys = (['floor', 'low', 'waist', 'head', 'above'] as const).map(at);
    expect([...ys].sort((a, b) => b - a)).toEqual(ys);
  });

  it('shades the zones of the lift on both sides, those of the settings, and a request', () => {
    expect(zonesToShade(judged('squat', 135))).toEqual([
      { fromDeg: 112.5, toDeg: 157.5 },
      { fromDeg: -157.5, toDeg: -112.5 },
    ]);
    expect(zonesToShade(judged('squat', 0))).toEqual([{ fromDeg: -22.5, toDeg: 22.5 }]);
    expect(zonesToShade(judged('squat', 100), [{ fromDeg: 80, toDeg: 120, aimDeg: 100 }])[0]).toEqual({
      fromDeg: 80,
      toDeg: 120,
    });
    expect(zonesToShade(judgementOf({}))).toEqual([]);
  });

  it('is a PNG of 720 x 720, the same each time', () => {
    const draw = () => cameraPlacement(judged('bench', 45), clipFacts({ azimuthDeg: 0, heightClass: 'floor' }), options);
    const first = draw();
    expect(pngSize(first.png)).toEqual({ widthPx: 720, heightPx: 720 });
    expect(draw().png.equals(first.png)).toBe(true);
    expect(first.png.length).toBeLessThan(120_000);
  });
});
