import type { LiftData } from '../lifts/index.ts';
import { placeOf } from '../wording/directions.ts';
import { languageOf } from '../wording/index.ts';
import { lifterFromAbove, lifterFromTheSide, phoneMark } from './figures.ts';
import { palette, textPx } from './palette.ts';
import { type Picture, renderPicture } from './render.ts';
import { arrow, card, label, onRing, type Point, px, ringSector, textWidthPx, wrapText } from './svg.ts';

const centre: Point = [250, 290];
const ringPx = 150;
const side = { floorPx: 700, liftXPx: 535, phoneXPx: 120, pxPerM: 88 };

/**
 * How to film one lift: from above (accepted zones shaded, the preferred place on both sides) and from the side (height of the phone
 * on a tripod, distance), with what must be seen. 720 px wide. The height range is to scale; the distance is not.
 */
export function filmingGuide(lift: LiftData, options: { language: string }): Picture {
  const words = languageOf(options.language).pictures;
  const aim = lift.zones[0]!.aimDeg;
  const sides = aim === 0 || aim === 180 ? [aim] : [aim, -aim];
  const zones = lift.zones.flatMap(({ fromDeg, toDeg }, i) =>
    [
      [fromDeg, toDeg],
      [-toDeg, -fromDeg],
    ].map(
      ([from, to]) =>
        `<path class="zone" d="${ringSector(centre, ringPx - 40, ringPx + 40, from!, to!)}" fill="${palette.wantSoft}" fill-opacity="${i === 0 ? 1 : 0.5}"/>`,
    ),
  );
  const above = [
    ...zones,
    lifterFromAbove(centre, lift.id, words, textPx.small),
    ...sides.map((azimuthDeg, i) =>
      phoneMark(onRing(centre, ringPx, azimuthDeg), 180 - azimuthDeg, 'want', i === 0 ? 'want' : 'want-other'),
    ),
    ...wrapText(
      words.guidePlaces(
        lift.zones.map((zone) => placeOf(zone.aimDeg)),
        lift.id,
      ),
      230,
      textPx.small,
    ).map((text, i) => label([466, 158 + i * 34], text, { sizePx: textPx.small })),
  ];
  const see = wrapText(words.guideSee(lift.parts.map(({ part }) => part)), 656, textPx.small);
  const tips = words.guideTips.flatMap((tip) => wrapText(tip, 630, textPx.small).map((text, i) => ({ text, first: i === 0 })));
  const lines = [
    ...see.map((text, i) => label([32, 800 + i * 34], text, { sizePx: textPx.small, bold: false })),
    ...tips.map(({ text, first }, i) => {
      const y = 812 + (see.length + i) * 34;
      return `${first ? `<circle cx="40" cy="${y - 9}" r="5" fill="${palette.want}"/>` : ''}${label([58, y], text, { sizePx: textPx.small })}`;
    }),
  ];
  const height = 812 + (see.length + tips.length) * 34;
  const alt = words.guideAlt({
    lift: lift.id,
    places: lift.zones.map((zone) => placeOf(zone.aimDeg)),
    heightM: lift.heightM,
    distanceM: lift.distanceM,
    see: lift.parts.map(({ part }) => part),
  });
  const title = label([32, 58], words.guideTitle(lift.id), { sizePx: textPx.title, bold: true });
  return renderPicture(card(720, height, alt, [title, ...above, fromTheSide(lift, aim, words), ...lines].join('')), alt);
}

function fromTheSide(
  lift: LiftData,
  aimDeg: number,
  words: { heightRange(m: readonly [number, number]): string; distance(m: readonly [number, number]): string },
): string {
  const { floorPx, liftXPx, phoneXPx, pxPerM } = side;
  const y = (m: number) => floorPx - m * pxPerM;
  const [low, high] = lift.heightM;
  const middle = y((low + high) / 2);
  const facing = aimDeg > 90 ? 1 : -1;
  const leg = (dx: number) =>
    `<path d="M${phoneXPx} ${px(middle + 24)} L${phoneXPx + dx} ${floorPx}" stroke="${palette.bodyDark}" stroke-width="5" stroke-linecap="round"/>`;
  const dimension = floorPx + 34;
  const mid = (phoneXPx + liftXPx) / 2;
  const gap = textWidthPx(words.distance(lift.distanceM), textPx.small, true) / 2 + 10;
  return [
    `<path d="M32 ${floorPx + 6} H688" stroke="${palette.line}" stroke-width="4"/>`,
    `<rect id="wanted-height" x="${phoneXPx - 50}" y="${px(y(high))}" width="100" height="${px((high - low) * pxPerM)}" rx="8" fill="${palette.wantSoft}" stroke="${palette.want}" stroke-width="3" stroke-dasharray="8 5"/>`,
    leg(-32),
    leg(0),
    leg(32),
    phoneMark([phoneXPx, middle], 90, 'want', 'want-height'),
    label([phoneXPx + 62, y((low + high) / 2) + 9], words.heightRange(lift.heightM), {
      sizePx: textPx.small,
      fill: palette.want,
      bold: true,
    }),
    lifterFromTheSide([liftXPx, floorPx], pxPerM, lift.id, facing),
    arrow(
      [
        [mid - gap, dimension - 8],
        [phoneXPx + 4, dimension - 8],
      ],
      palette.soft,
      4,
    ),
    arrow(
      [
        [mid + gap, dimension - 8],
        [liftXPx - 4, dimension - 8],
      ],
      palette.soft,
      4,
    ),
    label([mid, dimension], words.distance(lift.distanceM), { sizePx: textPx.small, anchor: 'middle', bold: true }),
  ].join('');
}
