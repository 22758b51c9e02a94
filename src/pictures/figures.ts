import type { LiftId } from '../facts/facts.ts';
import { palette } from './palette.ts';
import { label, type Point, pathThrough, px } from './svg.ts';

/** Distance of the bar behind (+) or before (-) the head in px, seen from above: on the back, over the head, before the shins. */
const barBehindPx: Record<LiftId, number> = { squat: 14, press: -6, deadlift: -40, bench: 0, other: 14 };

function line(points: readonly Point[], widthPx: number, colour: string): string {
  return `<path d="${pathThrough(points)}" fill="none" stroke="${colour}" stroke-width="${px(widthPx)}" stroke-linecap="round" stroke-linejoin="round"/>`;
}

function dot([x, y]: Point, radiusPx: number, colour: string): string {
  return `<circle cx="${px(x)}" cy="${px(y)}" r="${px(radiusPx)}" fill="${colour}"/>`;
}

/** A bar lying across the picture with a plate on either side, seen from above; 160 px from end to end. */
function barAcross([x, y]: Point): string {
  const plate = (side: number) =>
    `<rect x="${px(x + side * 66 - 7)}" y="${px(y - 26)}" width="14" height="52" rx="4" fill="${palette.ink}"/>`;
  return `${line(
    [
      [x - 80, y],
      [x + 80, y],
    ],
    7,
    palette.bodyDark,
  )}${plate(-1)}${plate(1)}`;
}

/** The lifter from above, facing up the picture, with the bar of the lift; `words` name the front, or the ends of the bench. */
export function lifterFromAbove(
  centre: Point,
  lift: LiftId | null,
  words: { front: string; feetEnd: string; headEnd: string; left: string; right: string },
  sizePx: number,
): string {
  const [x, y] = centre;
  const behindPx = barBehindPx[lift ?? 'other'];
  // before the plates, or behind those of a bar that is before the lifter
  const sidesY = y + (lift === 'bench' || behindPx > 0 ? -22 : behindPx + 54);
  const sides = [
    label([x - 80, sidesY], words.left, { sizePx, anchor: 'middle', fill: palette.soft }),
    label([x + 80, sidesY], words.right, { sizePx, anchor: 'middle', fill: palette.soft }),
  ].join('');
  return (
    (lift === 'bench' ? lyingFromAbove(centre, words, sizePx) : standingFromAbove(centre, lift ?? 'other', words.front, sizePx)) +
    sides
  );
}

function standingFromAbove([x, y]: Point, lift: LiftId, front: string, sizePx: number): string {
  const barY = y + barBehindPx[lift];
  const body = [
    `<ellipse cx="${px(x - 15)}" cy="${px(y - 22)}" rx="9" ry="18" fill="${palette.bodyDark}"/>`,
    `<ellipse cx="${px(x + 15)}" cy="${px(y - 22)}" rx="9" ry="18" fill="${palette.bodyDark}"/>`,
    `<ellipse cx="${px(x)}" cy="${px(y)}" rx="42" ry="19" fill="${palette.body}"/>`,
    line(
      [
        [x - 36, y],
        [x - 44, (y + barY) / 2],
        [x - 38, barY],
      ],
      13,
      palette.body,
    ),
    line(
      [
        [x + 36, y],
        [x + 44, (y + barY) / 2],
        [x + 38, barY],
      ],
      13,
      palette.body,
    ),
  ].join('');
  const head = `${dot([x, y - 3], 17, palette.bodyDark)}<path d="${pathThrough([
    [x - 6, y - 18],
    [x, y - 28],
    [x + 6, y - 18],
  ])} Z" fill="${palette.bodyDark}"/>`;
  const ahead = `<path d="${pathThrough([
    [x, y - 84],
    [x - 13, y - 64],
    [x + 13, y - 64],
  ])} Z" fill="${palette.soft}"/>${line(
    [
      [x, y - 66],
      [x, y - 52],
    ],
    6,
    palette.soft,
  )}`;
  const bar = barAcross([x, barY]);
  const frontWord = label([x, y - 92], front, { sizePx, anchor: 'middle', fill: palette.soft });
  return lift === 'press' ? body + head + bar + ahead + frontWord : body + bar + head + ahead + frontWord;
}

function lyingFromAbove([x, y]: Point, words: { feetEnd: string; headEnd: string }, sizePx: number): string {
  return [
    `<rect x="${px(x - 17)}" y="${px(y - 38)}" width="34" height="118" rx="6" fill="${palette.dead}" stroke="${palette.deadLine}" stroke-width="2.5"/>`,
    line(
      [
        [x - 12, y - 8],
        [x - 30, y - 42],
        [x - 30, y - 70],
      ],
      14,
      palette.body,
    ),
    line(
      [
        [x + 12, y - 8],
        [x + 30, y - 42],
        [x + 30, y - 70],
      ],
      14,
      palette.body,
    ),
    `<rect x="${px(x - 26)}" y="${px(y - 14)}" width="52" height="58" rx="20" fill="${palette.body}"/>`,
    dot([x, y + 60], 16, palette.bodyDark),
    line(
      [
        [x - 24, y + 36],
        [x - 44, y + 30],
        [x - 38, y + 22],
      ],
      12,
      palette.body,
    ),
    line(
      [
        [x + 24, y + 36],
        [x + 44, y + 30],
        [x + 38, y + 22],
      ],
      12,
      palette.body,
    ),
    barAcross([x, y + 22]),
    label([x, y - 84], words.feetEnd, { sizePx, anchor: 'middle', fill: palette.soft }),
    label([x, y + 104], words.headEnd, { sizePx, anchor: 'middle', fill: palette.soft }),
  ].join('');
}

/** A phone seen from above or from the side that looks along `lookDeg` (clockwise from up the picture). Solid for where it is, dashed for where it should be. */
export function phoneMark([x, y]: Point, lookDeg: number, kind: 'now' | 'want', mark: string): string {
  const colour = kind === 'now' ? palette.now : palette.want;
  const look = kind === 'now' ? `fill="${colour}"` : `fill="${palette.white}" stroke-dasharray="8 5"`;
  return `<g id="${mark}" data-x="${px(x)}" data-y="${px(y)}" transform="translate(${px(x)} ${px(y)}) rotate(${px(lookDeg)})"><path d="M0 -12 L-17 -36 L17 -36 Z" fill="${colour}" fill-opacity="0.35"/><rect x="-24" y="-12" width="48" height="24" rx="7" ${look} stroke="${colour}" stroke-width="4"/><circle cx="0" cy="-6" r="4.5" fill="${kind === 'now' ? palette.white : colour}"/></g>`;
}

/** Joints of a lifter seen from the side, facing right, in m with the floor at 0; the bar's centre with its plates of 0.45 m. */
const poses: Record<LiftId, { limbs: Point[][]; head: Point; bar: Point; bench?: true }> = {
  squat: {
    limbs: [
      [
        [0.1, 0],
        [-0.05, 0.02],
        [0.22, 0.5],
        [-0.22, 0.55],
        [0.1, 1.02],
      ],
      [
        [0.1, 1.0],
        [0.12, 0.72],
        [0.06, 1.02],
      ],
    ],
    head: [0.2, 1.22],
    bar: [0.04, 1.06],
  },
  press: {
    limbs: [
      [
        [0.16, 0],
        [0, 0.03],
        [0.02, 0.5],
        [0, 0.95],
        [0, 1.45],
      ],
      [
        [0, 1.45],
        [0.03, 1.72],
        [0, 2.02],
      ],
    ],
    head: [0.05, 1.64],
    bar: [0, 2.06],
  },
  deadlift: {
    limbs: [
      [
        [0.16, 0],
        [0, 0.03],
        [0.14, 0.5],
        [-0.28, 0.72],
        [0.18, 1.02],
      ],
      [
        [0.18, 1.0],
        [0.16, 0.62],
        [0.14, 0.3],
      ],
    ],
    head: [0.29, 1.14],
    bar: [0.14, 0.26],
  },
  bench: {
    limbs: [
      [
        [0.75, 0],
        [0.6, 0.03],
        [0.62, 0.48],
        [0.2, 0.52],
        [-0.35, 0.55],
      ],
      [
        [-0.32, 0.58],
        [-0.28, 0.82],
        [-0.3, 1.08],
      ],
    ],
    head: [-0.55, 0.58],
    bar: [-0.3, 1.12],
    bench: true,
  },
  other: {
    limbs: [
      [
        [0.16, 0],
        [0, 0.03],
        [0.02, 0.5],
        [0, 0.95],
        [0, 1.45],
      ],
      [
        [0, 1.42],
        [0.06, 1.14],
        [0.2, 1.36],
      ],
    ],
    head: [0.05, 1.64],
    bar: [0.2, 1.36],
  },
};

/** The lifter from the side, feet at `floor`, `pxPerM` px a metre; facing 1 looks to the right of the picture, -1 to the left. */
export function lifterFromTheSide(floor: Point, pxPerM: number, lift: LiftId | null, facing: 1 | -1): string {
  const pose = poses[lift ?? 'other'];
  const at = ([x, y]: Point): Point => [floor[0] + facing * x * pxPerM, floor[1] - y * pxPerM];
  const bench = pose.bench
    ? line([at([-0.7, 0.43]), at([0.3, 0.43])], 0.08 * pxPerM, palette.deadLine) +
      line([at([-0.5, 0.4]), at([-0.5, 0.02])], 5, palette.deadLine) +
      line([at([0.15, 0.4]), at([0.15, 0.02])], 5, palette.deadLine)
    : '';
  const [barX, barY] = at(pose.bar);
  const plate = `<circle cx="${px(barX)}" cy="${px(barY)}" r="${px(0.225 * pxPerM)}" fill="${palette.ink}" fill-opacity="0.28" stroke="${palette.ink}" stroke-width="3"/>${dot([barX, barY], 5, palette.ink)}`;
  return (
    bench +
    pose.limbs.map((limb) => line(limb.map(at), 0.12 * pxPerM, palette.body)).join('') +
    dot(at(pose.head), 0.115 * pxPerM, palette.bodyDark) +
    plate
  );
}

/** A person of 1.75 m who stands and looks to the right, as a measure beside heights; feet at `floor`, `pxPerM` px a metre. */
export function personFromTheSide(floor: Point, pxPerM: number): string {
  const at = ([x, y]: Point): Point => [floor[0] + x * pxPerM, floor[1] - y * pxPerM];
  const body: Point[] = [
    [0.14, 0.02],
    [0, 0.04],
    [0.02, 0.5],
    [0, 0.95],
    [0, 1.42],
  ];
  const arm: Point[] = [
    [0, 1.4],
    [-0.02, 1.12],
    [0.05, 0.88],
  ];
  return (
    line(body.map(at), 0.14 * pxPerM, palette.body) +
    line(arm.map(at), 0.08 * pxPerM, palette.bodyDark) +
    dot(at([0.03, 1.63]), 0.12 * pxPerM, palette.bodyDark)
  );
}
