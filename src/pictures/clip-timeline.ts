import type { Facts, Rep } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';
import { languageOf } from '../wording/index.ts';
import { clock } from '../wording/numbers.ts';
import { palette, textPx } from './palette.ts';
import { type Picture, renderPicture } from './render.ts';
import { card, label, pill, px, textWidthPx } from './svg.ts';

const left = 34;
const width = 652;
const bar = { topPx: 108, heightPx: 56 };

/** A label that wants to stand at `xPx`; `must` ones are never left out. */
interface Tick {
  xPx: number;
  text: string;
  must: boolean;
}

/**
 * Ticks moved so that none overlap and all stay inside the card; what does not fit and is no `must` is left out.
 * Returns centres in px.
 */
export function placeTicks(ticks: readonly Tick[], sizePx: number): { xPx: number; text: string }[] {
  const half = (tick: Tick) => textWidthPx(tick.text, sizePx) / 2 + 4;
  const clamped = (tick: Tick) => Math.min(left + width - half(tick) + 8, Math.max(left + half(tick) - 8, tick.xPx));
  const taken: { fromPx: number; toPx: number; tick: Tick; xPx: number }[] = [];
  for (const tick of [...ticks].sort((a, b) => Number(b.must) - Number(a.must))) {
    let xPx = clamped(tick);
    const free = (x: number) => taken.every(({ fromPx, toPx }) => x + half(tick) <= fromPx || x - half(tick) >= toPx);
    if (!free(xPx)) {
      if (!tick.must) continue;
      const beside = taken
        .flatMap(({ fromPx, toPx }) => [toPx + half(tick), fromPx - half(tick)])
        .map((x) => clamped({ ...tick, xPx: x }));
      const fits = beside.filter(free).sort((a, b) => Math.abs(a - xPx) - Math.abs(b - xPx))[0];
      if (fits === undefined) continue;
      xPx = fits;
    }
    taken.push({ fromPx: xPx - half(tick), toPx: xPx + half(tick), tick, xPx });
  }
  return taken.map(({ xPx, tick }) => ({ xPx, text: tick.text }));
}

function repBars(reps: readonly Rep[], x: (timeS: number) => number): string {
  const bars = reps.map((rep, i) => {
    const from = x(rep.startS);
    const wide = Math.max(5, x(rep.endS) - from);
    const box = `<rect class="rep" x="${px(from)}" y="${bar.topPx + 4}" width="${px(wide - 1)}" height="${bar.heightPx - 8}" rx="4" fill="${palette.want}"/>`;
    const text = String(i + 1);
    const fits = textWidthPx(text, textPx.small, true) + 4 <= wide;
    return { text, xPx: from + wide / 2, box, fits };
  });
  const inside = bars.every(({ fits }) => fits);
  const style = { sizePx: textPx.small, bold: true, anchor: 'middle' } as const;
  const numbers = inside
    ? bars.map(({ xPx, text }) => label([xPx, bar.topPx + 38], text, { ...style, fill: palette.white }))
    : placeTicks(
        bars.map(({ xPx, text }, i) => ({ xPx, text, must: i === 0 || i === bars.length - 1 })),
        textPx.small,
      ).map(({ xPx, text }) => label([xPx, bar.topPx - 10], text, { ...style, fill: palette.want }));
  return bars.map(({ box }) => box).join('') + numbers.join('');
}

/**
 * The whole clip as a bar: reps solid with their numbers, the rest of the lift plain, dead time hatched, and dashed marks where the
 * clip is cut. 720 x 240 px. Without known reps the bar alone. Throws a RangeError when the clip's length is unknown or zero.
 */
export function clipTimeline(judgement: Judgement, facts: Facts, options: { language: string }): Picture {
  const words = languageOf(options.language).pictures;
  const durationS = facts.clip.known ? facts.clip.value.durationS : 0;
  if (!(durationS > 0)) throw new RangeError('a timeline needs the length of the clip');
  const x = (timeS: number) => left + (width * Math.min(durationS, Math.max(0, timeS))) / durationS;
  const reps = facts.reps.known ? facts.reps.value : null;
  const kept = judgement.trim;
  const live = kept ?? (facts.liftWindow.known ? facts.liftWindow.value : { startS: 0, endS: durationS });
  const box = (id: string, from: number, to: number, fill: string) =>
    to - from < 0.5
      ? ''
      : `<rect class="${id}" x="${px(from)}" y="${bar.topPx}" width="${px(to - from)}" height="${bar.heightPx}" fill="${fill}"/>`;
  const hatch = `<defs><pattern id="hatch" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="14" height="14" fill="${palette.dead}"/><rect width="5" height="14" fill="${palette.deadLine}"/></pattern></defs>`;
  const cutAt = kept ? [kept.startS, kept.endS].filter((timeS) => timeS > 0.05 && timeS < durationS - 0.05) : [];
  const marks = cutAt.map(
    (timeS) =>
      `<path class="cut" d="M${px(x(timeS))} ${bar.topPx - 8} V${bar.topPx + bar.heightPx + 10}" stroke="${palette.now}" stroke-width="5" stroke-dasharray="10 5"/>`,
  );
  const ends = [0, durationS].map((timeS) => ({ xPx: x(timeS), text: clock(timeS), must: cutAt.length === 0 }));
  const inner = kept ? cutAt : [live.startS, live.endS];
  const ticks = placeTicks(
    [...inner.map((timeS) => ({ xPx: x(timeS), text: clock(timeS), must: kept !== null })), ...ends],
    textPx.small,
  );
  const dead = [
    [0, live.startS],
    [live.endS, durationS],
  ] as const;
  const deadWord = kept ? words.cut : words.dead;
  const named = dead.map(([from, to]) => {
    const room = x(to) - x(from);
    return room < textWidthPx(deadWord, textPx.small, true) + 40
      ? ''
      : pill([(x(from) + x(to)) / 2, bar.topPx + bar.heightPx / 2], deadWord, palette.soft, textPx.small);
  });
  const title = words.timelineTitle({ durationS, reps: reps?.length ?? null, kept });
  const alt = words.timelineAlt({ durationS, reps, kept });
  const inside = [
    hatch,
    label([left, 54], title, { sizePx: textPx.body, bold: true }),
    box('live', x(live.startS), x(live.endS), palette.wantSoft),
    ...dead.map(([from, to]) => box('dead', x(from), x(to), 'url(#hatch)')),
    `<rect x="${left}" y="${bar.topPx}" width="${width}" height="${bar.heightPx}" fill="none" stroke="${palette.bodyDark}" stroke-width="2.5"/>`,
    repBars(reps ?? [], x),
    ...marks,
    ...named,
    ...ticks.map(({ xPx, text }) =>
      label([xPx, bar.topPx + bar.heightPx + 42], text, { sizePx: textPx.small, anchor: 'middle' }),
    ),
  ].join('');
  return renderPicture(card(720, 240, alt, inside), alt);
}
