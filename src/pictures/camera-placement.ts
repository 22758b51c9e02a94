import type { Facts, HeightClass } from '../facts/facts.ts';
import { wrapDeg } from '../facts/view.ts';
import type { Judgement } from '../judge/judgement.ts';
import { liftOf, type Zone } from '../lifts/index.ts';
import { placeOf, walkBetween } from '../wording/directions.ts';
import { languageOf } from '../wording/index.ts';
import type { PictureWords } from '../wording/language.ts';
import { roundTo } from '../wording/numbers.ts';
import { lifterFromAbove, personFromTheSide, phoneMark } from './figures.ts';
import { palette, textPx } from './palette.ts';
import { type Picture, renderPicture } from './render.ts';
import { arrow, card, label, onRing, type Point, pill, px, ringSector, wrapText } from './svg.ts';

const centre: Point = [288, 282];
const ringPx = 156;
/** How much nearer or farther the wanted place is drawn where the distance is wrong too, px: inside the shaded zone. */
const stepPx = 24;
const gauge = { xPx: 636, floorPx: 510, pxPerM: 168 };
/** Half-width of the shaded zone in degrees when a coach asked for a view outside the lift's own zones: the width of a view class. */
const requestHalfDeg = 22.5;
/** Height in m that stands for a height class: the middle of the class (src/facts/facts.ts); `above` is drawn at 2.3. */
const heightOfClass: Record<HeightClass, number> = { floor: 0.17, low: 0.52, waist: 1.02, head: 1.67, above: 2.3 };

/**
 * Ranges of azimuth to shade, on both sides of the lifter; the lift's own unless the settings give
 * others (`own`), and around the wanted azimuth alone when it lies outside them, as for a coach's request.
 */
export function zonesToShade(judgement: Judgement, own: readonly Zone[] | null = null): { fromDeg: number; toDeg: number }[] {
  if (!judgement.wanted) return [];
  const wanted = wrapDeg(judgement.wanted.azimuthDeg);
  const zones = own ?? liftOf(judgement.lift)?.zones ?? [];
  const inside = zones.some((zone) => Math.abs(wanted) >= zone.fromDeg && Math.abs(wanted) <= zone.toDeg);
  if (!inside) return [{ fromDeg: wanted - requestHalfDeg, toDeg: wanted + requestHalfDeg }];
  return zones.flatMap(({ fromDeg, toDeg }) => [
    { fromDeg, toDeg },
    { fromDeg: -toDeg, toDeg: -fromDeg },
  ]);
}

/** Places of the two labels beside their phones, kept apart when the phones stand close together. */
function pillPoints(nowDeg: number | null, wantDeg: number | null): { now: Point | null; want: Point | null } {
  const beside = (azimuthDeg: number): Point => {
    const [x, y] = onRing(centre, ringPx, azimuthDeg);
    const [ux, uy] = [(x - centre[0]) / ringPx, (y - centre[1]) / ringPx];
    return [x + 82 * ux, y + 58 * uy];
  };
  if (nowDeg === null || wantDeg === null)
    return { now: nowDeg === null ? null : beside(nowDeg), want: wantDeg === null ? null : beside(wantDeg) };
  const turn = wrapDeg(wantDeg - nowDeg);
  const spare = Math.max(0, (30 - Math.abs(turn)) / 2) * (turn < 0 ? -1 : 1);
  return { now: beside(nowDeg - spare), want: beside(wantDeg + spare) };
}

/** How far from the lifter the wanted place is drawn, px: on the ring, as where the phone is now, or nearer or farther where it is to come closer or step back. */
function wantedPx(judgement: Judgement): number {
  const way = stepWay(judgement);
  return ringPx + (way === null ? 0 : way === 'closer' ? -stepPx : stepPx);
}

function arcArrow(nowDeg: number, wantDeg: number, endPx: number): string {
  const turn = wrapDeg(wantDeg - nowDeg);
  const gap = 13 * Math.sign(turn);
  if (Math.abs(turn) < 34) return '';
  const steps = Math.max(4, Math.ceil(Math.abs(turn) / 4));
  const points = Array.from({ length: steps + 1 }, (_, k) =>
    onRing(centre, ringPx + ((endPx - ringPx) * k) / steps, nowDeg + gap + ((turn - 2 * gap) * k) / steps),
  );
  return `<g id="walk">${arrow(points, palette.ink, 8)}</g>`;
}

/** Where the label of a phone stands whose arrow points outwards: further to the lifter's side, degrees. */
const besideArrow = (nowDeg: number) => nowDeg + (Math.abs(nowDeg) < 90 ? 34 : -34) * (nowDeg < 0 ? -1 : 1);

function plan(judgement: Judgement, facts: Facts, words: PictureWords, own: readonly Zone[] | null): string {
  const now = facts.view.known ? facts.view.value.azimuthDeg : null;
  const want = judgement.wanted?.azimuthDeg ?? null;
  const spread = facts.view.known ? (facts.view.spread ?? 0) : 0;
  const pills = pillPoints(
    now !== null && stepWay(judgement) === 'back' && !judgementNeedsWalk(judgement) ? besideArrow(now) : now,
    judgementNeedsWalk(judgement) || now === null ? want : null,
  );
  const shaded = zonesToShade(judgement, own).map(
    ({ fromDeg, toDeg }) =>
      `<path class="zone" d="${ringSector(centre, ringPx - 42, ringPx + 42, fromDeg, toDeg)}" fill="${palette.wantSoft}"/>`,
  );
  const wedge =
    now !== null && spread > 0
      ? `<path id="spread" d="${ringSector(centre, ringPx - 30, ringPx + 30, now - Math.min(spread, 180), now + Math.min(spread, 180))}" fill="${palette.nowSoft}" fill-opacity="0.85"/>`
      : '';
  const ring = `<circle cx="${centre[0]}" cy="${centre[1]}" r="${ringPx}" fill="none" stroke="${palette.line}" stroke-width="2.5" stroke-dasharray="3 9"/>`;
  const walks = now !== null && want !== null && judgementNeedsWalk(judgement);
  return [
    ...shaded,
    ring,
    wedge,
    lifterFromAbove(centre, judgement.lift, words, textPx.small),
    walks ? arcArrow(now, want, wantedPx(judgement)) : '',
    want !== null && (walks || now === null)
      ? phoneMark(onRing(centre, now === null ? ringPx : wantedPx(judgement), want), -want + 180, 'want', 'want')
      : '',
    now !== null ? phoneMark(onRing(centre, ringPx, now), -now + 180, 'now', 'now') : '',
    now !== null ? stepArrow(judgement, now) : '',
    pills.want ? pill(pills.want, words.want, palette.want, textPx.small) : '',
    pills.now ? pill(pills.now, words.now, palette.now, textPx.small) : '',
  ].join('');
}

/** The place is drawn as wrong only when the judgement says so: a good enough view gets no second phone. */
function judgementNeedsWalk(judgement: Judgement): boolean {
  return judgement.findings.some((finding) => finding.rule === 'view');
}

/** Which way the phone is to move along the line to the lifter, when the judgement says so. */
function stepWay(judgement: Judgement): 'closer' | 'back' | null {
  const said = judgement.findings.map(({ rule, message }) => `${rule}/${message}`);
  if (said.includes('distance/too-far') || said.includes('lifter-size/too-small')) return 'closer';
  return said.includes('distance/too-near') || said.includes('lifter-size/too-close') ? 'back' : null;
}

/** A short arrow from the phone towards the lifter or away; none where the phone walks round anyway. */
function stepArrow(judgement: Judgement, nowDeg: number): string {
  const way = stepWay(judgement);
  if (way === null || judgementNeedsWalk(judgement)) return '';
  const [fromPx, toPx] = way === 'closer' ? [ringPx - 28, ringPx - 66] : [ringPx + 28, ringPx + 62];
  const points = [0, 0.5, 1].map((share) => onRing(centre, fromPx + (toPx - fromPx) * share, nowDeg));
  return `<g id="${way}">${arrow(points, palette.ink, 8)}</g>`;
}

function heightGauge(judgement: Judgement, facts: Facts, words: PictureWords): string {
  const { xPx, floorPx, pxPerM } = gauge;
  const y = (m: number) => floorPx - m * pxPerM;
  const band = judgement.wanted
    ? `<rect id="wanted-height" x="${xPx - 62}" y="${px(y(judgement.wanted.heightM[1]))}" width="124" height="${px((judgement.wanted.heightM[1] - judgement.wanted.heightM[0]) * pxPerM)}" rx="8" fill="${palette.wantSoft}" stroke="${palette.want}" stroke-width="3" stroke-dasharray="8 5"/>`
    : '';
  const height = facts.camera.heightClass.known ? heightOfClass[facts.camera.heightClass.value] : null;
  const floor = `<path d="M${xPx - 64} ${floorPx + 7} H${xPx + 64}" stroke="${palette.line}" stroke-width="4"/>`;
  return [
    label([xPx, 54], words.height, { sizePx: textPx.body, bold: true, anchor: 'middle' }),
    band,
    personFromTheSide([xPx + 18, floorPx], pxPerM),
    floor,
    height === null ? '' : phoneMark([xPx - 44, y(height)], 90, 'now', 'now-height'),
  ].join('');
}

/**
 * The phone's place seen from above with the lifter facing up the picture (lifter's left = picture's left), and its height: where it
 * is (solid, with a wedge for the spread), where it should be (dashed, in the shaded zone), and the way between. 720 x 720 px.
 * `zones`: accepted places where the settings differ from the lift's own.
 */
export function cameraPlacement(
  judgement: Judgement,
  facts: Facts,
  options: { language: string; zones?: readonly Zone[] },
): Picture {
  const words = languageOf(options.language).pictures;
  const place = facts.view.known ? placeOf(facts.view.value.azimuthDeg) : null;
  const height = facts.camera.heightClass.known ? facts.camera.heightClass.value : null;
  const { lift, wanted } = judgement;
  const stays = place !== null && !judgementNeedsWalk(judgement);
  const wantedPlace = stays || wanted === null ? (place ?? 'front') : placeOf(wanted.azimuthDeg);
  const distanceM = stepWay(judgement) !== null && facts.camera.distanceM.known ? facts.camera.distanceM.value : null;
  const now = place === null && height === null && distanceM === null ? '' : words.nowLine({ place, height, distanceM, lift });
  const want = wanted ? words.wantLine({ place: wantedPlace, heightM: wanted.heightM, distanceM: wanted.distanceM, lift }) : '';
  const rows = [
    ...wrapText(now || words.noPlace, 580, textPx.small).map((text, i) => ({
      text,
      head: i === 0 ? words.now : null,
      colour: palette.now,
    })),
    ...(want
      ? wrapText(want, 580, textPx.small).map((text, i) => ({ text, head: i === 0 ? words.want : null, colour: palette.want }))
      : []),
  ];
  const rowPx = 34;
  const top = 718 - rows.length * rowPx;
  const texts = rows.map(({ text, head, colour }, i) => {
    const y = top + i * rowPx;
    return `${head === null ? '' : label([30, y], head, { sizePx: textPx.small, bold: true, fill: colour })}${label([118, y], text, { sizePx: textPx.small })}`;
  });
  const turn =
    facts.view.known && wanted && judgementNeedsWalk(judgement)
      ? walkBetween(Math.round(facts.view.value.azimuthDeg), wanted.azimuthDeg).turnDeg // whole degrees, as in the finding
      : null;
  const alt = words.placementAlt(now, want, turn === null ? null : roundTo(turn, 5));
  const title = label([30, 54], words.fromAbove, { sizePx: textPx.body, bold: true });
  return renderPicture(
    card(
      720,
      720,
      alt,
      plan(judgement, facts, words, options.zones ?? null) + heightGauge(judgement, facts, words) + title + texts.join(''),
    ),
    alt,
  );
}
