import type { LiftId, Moment } from '../facts/facts.ts';
import { languageOf } from '../wording/index.ts';
import { palette, textPx } from './palette.ts';
import { type Picture, renderPicture } from './render.ts';
import { card, label, pill, px } from './svg.ts';

/** One still of the sheet: JPEG bytes, its size in px, the rep it belongs to (from 1) and the moment of that rep. */
export interface Still {
  jpeg: Buffer;
  widthPx: number;
  heightPx: number;
  rep: number;
  moment: Moment;
}

const edge = 24;
const gap = 12;
const captionPx = 38;
const width = 720;
const moments: readonly Moment[] = ['start', 'turn', 'lockout'];

/**
 * Stills of the reps side by side for the coach, in the order of the clip: one or two reps a row, each still with its rep's number and
 * its moment. 720 px wide, as high as it needs. Throws a RangeError without stills.
 */
export function contactSheet(stills: readonly Still[], options: { language: string; lift: LiftId | null }): Picture {
  const first = stills[0];
  if (!first) throw new RangeError('a contact sheet needs at least one still');
  const words = languageOf(options.language).pictures;
  const ordered = [...stills].sort((a, b) => a.rep - b.rep || moments.indexOf(a.moment) - moments.indexOf(b.moment));
  const reps = [...new Set(ordered.map(({ rep }) => rep))];
  const shown = moments.filter((moment) => ordered.some((still) => still.moment === moment));
  // Two reps a row only for tall stills of long sets: a wide still would get too small.
  const repsPerRow = reps.length > 4 && first.heightPx > first.widthPx ? 2 : 1;
  const columns = shown.length * repsPerRow;
  const cell = Math.min((width - 2 * edge - (columns - 1) * gap) / columns, 320);
  const tall = Math.max(...ordered.map(({ widthPx, heightPx }) => (cell * heightPx) / widthPx));
  const rowPx = tall + captionPx + gap;
  const rows = Math.ceil(reps.length / repsPerRow);
  const cells = ordered.map(({ jpeg, widthPx, heightPx, rep, moment }) => {
    const at = reps.indexOf(rep);
    const column = (at % repsPerRow) * shown.length + shown.indexOf(moment);
    const x = edge + column * (cell + gap);
    const y = edge + Math.floor(at / repsPerRow) * rowPx;
    const high = (cell * heightPx) / widthPx;
    return [
      `<image x="${px(x)}" y="${px(y + tall - high)}" width="${px(cell)}" height="${px(high)}" href="data:image/jpeg;base64,${jpeg.toString('base64')}"/>`,
      `<rect x="${px(x)}" y="${px(y + tall - high)}" width="${px(cell)}" height="${px(high)}" fill="none" stroke="${palette.bodyDark}" stroke-width="2"/>`,
      pill([x + 26, y + tall - high + 26], String(rep), palette.want, textPx.small),
      label([x + cell / 2, y + tall + 29], words.stillLabel(moment, options.lift), { sizePx: textPx.small, anchor: 'middle' }),
    ].join('');
  });
  const alt = words.sheetAlt(options.lift, reps.length, ordered.length);
  return renderPicture(card(width, Math.ceil(2 * edge + rows * rowPx - gap), alt, cells.join('')), alt);
}
