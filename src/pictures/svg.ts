import { palette } from './palette.ts';

/** A point in picture px, y downwards. */
export type Point = readonly [xPx: number, yPx: number];

/** Number for an SVG attribute: two decimals at most. Throws a RangeError when it is not finite, so no picture ever holds NaN. */
export function px(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`a picture needs finite numbers, got ${value}`);
  return String(Math.round(value * 100) / 100);
}

/** Text made safe for SVG; characters that XML forbids are dropped. */
export function escapeXml(text: string): string {
  const legal = [...text].filter((c) => c >= ' ' || c === '\n' || c === '\t').join('');
  return legal.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}

/** One line of text in the pictures' font; `at` is the anchor's place on the baseline. */
export function label(
  at: Point,
  text: string,
  style: { sizePx: number; bold?: boolean; fill?: string; anchor?: 'start' | 'middle' | 'end' },
): string {
  const { sizePx, bold = false, fill = palette.ink, anchor = 'start' } = style;
  return `<text x="${px(at[0])}" y="${px(at[1])}" font-family="DejaVu Sans" font-stretch="condensed" font-weight="${bold ? 700 : 400}" font-size="${px(sizePx)}" fill="${fill}" text-anchor="${anchor}">${escapeXml(text)}</text>`;
}

/** Upper estimate of a line's width in px, from advance widths of DejaVu Sans Condensed by kind of letter (checked in tests against the renderer). */
export function textWidthPx(text: string, sizePx: number, bold = false): number {
  let em = 0;
  for (const c of text) {
    if ("ijlI.,:;'|!()[]/ ftr-".includes(c)) em += bold ? 0.44 : 0.36;
    else if ('mwMW@%'.includes(c)) em += bold ? 0.99 : 0.9;
    else if (c >= 'A' && c <= 'Z') em += bold ? 0.77 : 0.71;
    else em += bold ? 0.64 : 0.58;
  }
  return em * sizePx;
}

/** The text broken into lines of at most `maxPx`; a longer single word keeps a line of its own. */
export function wrapText(text: string, maxPx: number, sizePx: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && textWidthPx(`${last} ${word}`, sizePx) <= maxPx) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

/**
 * Where an azimuth lies on a ring, seen from above with the lifter facing up the picture, so that the lifter's left is the
 * picture's left: 0 up, +90 left, 180 down.
 */
export function onRing(centre: Point, radiusPx: number, azimuthDeg: number): Point {
  const a = (azimuthDeg * Math.PI) / 180;
  return [centre[0] - radiusPx * Math.sin(a), centre[1] - radiusPx * Math.cos(a)];
}

/** Path of a ring's part between two azimuths (fromDeg < toDeg, at most 360 apart) and two radii. */
export function ringSector(centre: Point, innerPx: number, outerPx: number, fromDeg: number, toDeg: number): string {
  const steps = Math.max(2, Math.ceil((toDeg - fromDeg) / 5));
  const along = (radius: number, k: number) => onRing(centre, radius, fromDeg + ((toDeg - fromDeg) * k) / steps);
  const points: Point[] = [];
  for (let k = 0; k <= steps; k++) points.push(along(outerPx, k));
  for (let k = steps; k >= 0; k--) points.push(along(innerPx, k));
  return `${pathThrough(points)} Z`;
}

/** Path data of straight pieces through the points. */
export function pathThrough(points: readonly Point[]): string {
  return points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${px(x)} ${px(y)}`).join(' ');
}

/** Open arrow of straight pieces through `points` with a filled head at the last one, pointing along the last piece. */
export function arrow(points: readonly Point[], colour: string, widthPx: number): string {
  const [tipX, tipY] = points.at(-1)!;
  const [backX, backY] = points.at(-2)!;
  const turn = Math.atan2(tipY - backY, tipX - backX);
  const size = widthPx * 2.6;
  const wing = (side: number): Point => [tipX - size * Math.cos(turn + side * 0.5), tipY - size * Math.sin(turn + side * 0.5)];
  const neck: Point = [tipX - size * 0.7 * Math.cos(turn), tipY - size * 0.7 * Math.sin(turn)];
  const shaft = `<path d="${pathThrough([...points.slice(0, -1), neck])}" fill="none" stroke="${colour}" stroke-width="${px(widthPx)}" stroke-linejoin="round"/>`;
  return `${shaft}<path d="${pathThrough([[tipX, tipY], wing(1), wing(-1)])} Z" fill="${colour}"/>`;
}

/** A rounded label with white text, centred on a point. */
export function pill(centre: Point, text: string, fill: string, sizePx: number): string {
  const width = textWidthPx(text, sizePx, true) + 22;
  const height = sizePx + 12;
  return `<rect x="${px(centre[0] - width / 2)}" y="${px(centre[1] - height / 2)}" width="${px(width)}" height="${px(height)}" rx="${px(height / 2)}" fill="${fill}" stroke="${palette.card}" stroke-width="3"/>${label([centre[0], centre[1] + sizePx * 0.36], text, { sizePx, bold: true, fill: palette.white, anchor: 'middle' })}`;
}

/** The whole picture: a rounded card of its own colour, so that it reads the same in light and dark chats. `title` is for readers of the SVG. */
export function card(widthPx: number, heightPx: number, title: string, inside: string): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${heightPx}" viewBox="0 0 ${widthPx} ${heightPx}" role="img"><title>${escapeXml(title)}</title><rect x="1.5" y="1.5" width="${widthPx - 3}" height="${heightPx - 3}" rx="28" fill="${palette.card}" stroke="${palette.cardEdge}" stroke-width="3"/>${inside}</svg>`;
}
