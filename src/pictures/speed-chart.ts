import type { RepSpeedRecord, SetRecord } from '../record/set-record.ts';
import { languageOf } from '../wording/index.ts';
import { dayOf, speedSaid } from '../wording/record.ts';
import { placeTicks } from './clip-timeline.ts';
import { palette, textPx } from './palette.ts';
import { type Picture, renderPicture } from './render.ts';
import { card, label, px, textWidthPx, wrapText } from './svg.ts';

const width = 720;
const plot = { left: 92, right: 686, top: 118, bottom: 372 };
const mostLabelled = 8;

/** An earlier set beside this one: when it was posted (ms since 1970) and what its speeds are multiplied by to stand on this clip's scale. */
export interface EarlierSet {
  atMs: number;
  set: SetRecord;
  factor: number;
}

/** Steps of the axis that leave three to six lines. */
function axisOf(highest: number): { step: number; top: number } {
  const step = [0.05, 0.1, 0.2, 0.5, 1].find((s) => highest / s <= 5) ?? 2;
  return { step, top: Math.ceil(highest / step + 0.1) * step };
}

/**
 * Mean bar speed of each rep as bars from zero with their spread from rep to rep, an earlier set beside it (outlined). 720 px wide. Throws a
 * RangeError when no speed was measured.
 */
export function speedChart(set: SetRecord, options: { language: string; earlier?: EarlierSet | undefined }): Picture {
  const said = speedSaid(set);
  if (said === null || set.scale === null) throw new RangeError('a chart of speeds needs at least one measured rep');
  const words = languageOf(options.language).record.chart;
  const { earlier } = options;
  const now = set.reps.map(({ speed }) => speed);
  const before = earlier?.set.reps.map(({ speed }) => speed && scaled(speed, earlier.factor)) ?? [];
  const slots = Math.max(now.length, before.length);
  const tops = [...now, ...before].flatMap((speed) => (speed === null ? [] : [speed.meanMps * (1 + speed.share)]));
  const { step, top } = axisOf(Math.max(...tops));
  const y = (mps: number) => plot.bottom - (mps / top) * (plot.bottom - plot.top);
  const slotPx = (plot.right - plot.left) / slots;
  const barPx = Math.min(56, slotPx * (earlier ? 0.38 : 0.56));
  const middle = (at: number) => plot.left + slotPx * (at + 0.5);
  const nowX = (at: number) => middle(at) + (earlier ? barPx / 2 + 1 : 0);

  const lines = Array.from({ length: Math.round(top / step) + 1 }, (_, i) => i * step).map(
    (mps) =>
      `<path d="M${plot.left} ${px(y(mps))} H${plot.right}" stroke="${mps === 0 ? palette.bodyDark : palette.line}" stroke-width="${mps === 0 ? 2.5 : 1.5}"/>${label([plot.left - 10, y(mps) + 9], mps.toFixed(step < 0.1 ? 2 : 1), { sizePx: textPx.small, anchor: 'end', fill: palette.soft })}`,
  );
  const bar = (kind: 'now' | 'before', speed: RepSpeedRecord, x: number) => {
    const topPx = y(speed.meanMps);
    const look =
      kind === 'now'
        ? `fill="${palette.want}"`
        : `fill="${palette.nowSoft}" stroke="${palette.now}" stroke-width="3" stroke-dasharray="7 4"`;
    const [low, high] = [y(speed.meanMps * (1 - speed.share)), y(speed.meanMps * (1 + speed.share))];
    return `<rect class="${kind}" x="${px(x - barPx / 2)}" y="${px(topPx)}" width="${px(barPx)}" height="${px(plot.bottom - topPx)}" ${look}/><path class="spread" d="M${px(x)} ${px(low)} V${px(high)} M${px(x - 7)} ${px(high)} h14 M${px(x - 7)} ${px(low)} h14" stroke="${kind === 'now' ? palette.ink : palette.now}" stroke-width="3"/>`;
  };
  const valueTicks = now.flatMap((speed, at) =>
    speed === null ? [] : [{ at, speed, text: speed.meanMps.toFixed(2), must: must(now, at) }],
  );
  const values = valueTicks
    .filter(({ must: always }) => always || slotPx > textWidthPx('0.00', textPx.small, true) + 6)
    .map(({ at, speed, text }) => ({ xPx: nowX(at), yPx: y(speed.meanMps * (1 + speed.share)) - 10, text }));
  const numbers = placeTicks(
    Array.from({ length: slots }, (_, at) => ({ xPx: middle(at), text: String(at + 1), must: at === 0 || at === slots - 1 })),
    textPx.small,
  );
  const key = [{ kind: 'now', text: words.thisSet }, ...(earlier ? [{ kind: 'before', text: dayOf(earlier.atMs) }] : [])];
  let keyX = plot.left;
  const legend = key.map(({ kind, text }) => {
    const at = keyX;
    keyX += 44 + textWidthPx(text, textPx.small) + 28;
    const look =
      kind === 'now'
        ? `fill="${palette.want}"`
        : `fill="${palette.nowSoft}" stroke="${palette.now}" stroke-width="3" stroke-dasharray="7 4"`;
    return `<rect x="${px(at)}" y="68" width="30" height="22" ${look}/>${label([at + 40, 88], text, { sizePx: textPx.small })}`;
  });
  const shared = 100 * Math.hypot(set.scale.share, set.scale.statureShare);
  const note = wrapText(words.note(shared), width - 68, textPx.small);
  const alt = words.alt({
    ...said,
    earlier: earlier ? { day: dayOf(earlier.atMs), means: before.map((speed) => speed?.meanMps ?? null) } : null,
  });
  const inside = [
    label([34, 50], words.title, { sizePx: textPx.body, bold: true }),
    ...legend,
    ...lines,
    ...before.map((speed, at) => (speed === null ? '' : bar('before', speed, middle(at) - barPx / 2 - 1))),
    ...now.map((speed, at) => (speed === null ? '' : bar('now', speed, nowX(at)))),
    ...spaced(values).map(({ xPx, yPx, text }) =>
      label([xPx, yPx], text, { sizePx: textPx.small, bold: true, anchor: 'middle', fill: palette.want }),
    ),
    label([plot.left - 10, plot.bottom + 34], words.rep, { sizePx: textPx.small, anchor: 'end', fill: palette.soft }),
    ...numbers.map(({ xPx, text }) => label([xPx, plot.bottom + 34], text, { sizePx: textPx.small, anchor: 'middle' })),
    ...note.map((line, i) => label([34, plot.bottom + 78 + 34 * i], line, { sizePx: textPx.small, fill: palette.soft })),
  ].join('');
  return renderPicture(card(width, plot.bottom + 68 + 34 * note.length, alt, inside), alt);
}

const scaled = (speed: RepSpeedRecord, factor: number): RepSpeedRecord => ({ ...speed, meanMps: speed.meanMps * factor });

/** In a long set only the first, the fastest and the last rep carry a number. */
function must(speeds: readonly (RepSpeedRecord | null)[], at: number): boolean {
  if (speeds.length <= mostLabelled) return true;
  const told = speeds.flatMap((speed, i) => (speed === null ? [] : [{ i, mps: speed.meanMps }]));
  const fastest = told.reduce((a, b) => (b.mps > a.mps ? b : a));
  return [told[0]!.i, fastest.i, told.at(-1)!.i].includes(at);
}

/** Numbers left out where they would lie over one before; the first and the last stay. */
function spaced<T extends { xPx: number; text: string }>(labels: readonly T[]): T[] {
  const wide = (one: T) => textWidthPx(one.text, textPx.small, true) + 4;
  const out: T[] = [];
  for (const [i, one] of labels.entries()) {
    const last = out.at(-1);
    if (last && one.xPx - last.xPx < (wide(last) + wide(one)) / 2) {
      if (i < labels.length - 1 || out.length === 1) continue;
      out.pop();
    }
    out.push(one);
  }
  return out;
}
