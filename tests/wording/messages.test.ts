import { describe, expect, it } from 'vitest';
import { UnknownReason } from '../../src/facts/fact.ts';
import type { LiftId } from '../../src/facts/facts.ts';
import { ClipErrorCode } from '../../src/queue/payload.ts';
import { rules } from '../../src/rules/index.ts';
import { languageOf, languages } from '../../src/wording/index.ts';
import type { About } from '../../src/wording/language.ts';
import { wordError } from '../../src/wording/reply.ts';
import { fillTemplate, saidOf, WordingError } from '../../src/wording/template.ts';

/** A likely value of each placeholder; a placeholder of a new rule without one fails below. */
const samples: Record<string, number | string> = {
  head: 'left',
  turnDeg: 90,
  count: 3,
  atS: 7.4,
  azimuthDeg: -85,
  seenClass: 'side',
  seenSide: 'right',
  wantedDeg: -135,
  wantedClass: 'rear-quarter',
  wantedSide: 'right',
  moveDeg: 50,
  walk: 'left',
  around: 'clockwise',
  requestedClass: 'front',
  part: 'feet',
  parts: 'feet,hands',
  moment: 'turn',
  outsidePercent: 40,
  hiddenPercent: 30,
  percent: 20,
  heightClass: 'floor',
  minM: 1.5,
  maxM: 1.8,
  distanceM: 7.6,
  heightPercent: 18,
  minPercent: 22,
  maxPercent: 95,
  meanPercent: 9,
  percentPerS: 6.5,
  leadInS: 14.2,
  tailS: 31.8,
  maxS: 5,
  restS: 42,
  fps: 24,
  repS: 0.4,
  minRepS: 0.8,
  captioned: 'squat',
  measured: 'deadlift',
  durationS: 95,
  reps: 3,
  sharpPercent: 12,
  widthPx: 320,
  heightPx: 240,
  minPx: 480,
  minFps: 24,
};
const byMessage: Record<string, Record<string, number | string>> = { 'as-captioned/reps-differ': { captioned: 5, measured: 4 } };
/** Placeholders that say the same as others in the same message, so a language may leave them out. */
const spare = new Set(['seenClass', 'seenSide', 'wantedClass', 'wantedSide', 'moveDeg', 'walk', 'around']);

const messages = rules.flatMap((rule) =>
  Object.entries(rule.messages).map(([message, names]) => ({ rule: rule.id, id: `${rule.id}/${message}`, names })),
);
const abouts: About[] = (['squat', 'bench', 'press', null] satisfies (LiftId | null)[]).flatMap((lift) => [
  { lift, distanceM: 3.2, toDistanceM: 2.9, trim: { startS: 12, endS: 26 }, durationS: 57 },
  { lift, distanceM: null, toDistanceM: null, trim: null, durationS: null },
]);

function numbersFor(id: string, names: readonly string[]): Record<string, number | string> {
  return Object.fromEntries(
    names.map((name) => {
      const value = byMessage[id]?.[name] ?? samples[name];
      if (value === undefined) throw new Error(`no sample for ${name} of ${id}`);
      return [name, value];
    }),
  );
}

describe.each(Object.keys(languages))('words in %s', (code) => {
  const language = languageOf(code);

  it('has words for each message of each rule, and no others', () => {
    expect(Object.keys(language.messages).sort()).toEqual(messages.map(({ id }) => id).sort());
    expect(Object.keys(language.ruleNames).sort()).toEqual(rules.map(({ id }) => id).sort());
  });

  it('has a sentence for each error code, and no others', () => {
    expect(Object.keys(language.errors).sort()).toEqual([...ClipErrorCode.options].sort());
    for (const error of ClipErrorCode.options) expect(wordError(error, code)).toMatch(/^[A-Z].+\.$/);
  });

  it('has words for each reason of an unknown', () => {
    for (const reason of [...UnknownReason.options, 'lift-unknown']) expect(language.reasons, reason).toHaveProperty([reason]);
  });

  it.each(messages)('words $id on one line, with each number in it', ({ id, names }) => {
    const numbers = numbersFor(id, names);
    for (const about of abouts) {
      const read = new Set<string>();
      const watched = new Proxy(numbers, {
        get: (target, name: string) => {
          read.add(name);
          return target[name];
        },
      });
      const text = language.messages[id]!(saidOf(watched), about);
      expect(text).not.toMatch(/undefined|NaN|null|Infinity|[{}\n!]| {2}/);
      expect(text).toMatch(/^[A-Z].*\.$/);
      expect([...names].filter((name) => !spare.has(name) && !read.has(name))).toEqual([]);
      for (const sentence of text.split(/(?<=[.;:]) /)) expect(sentence.split(' ').length, sentence).toBeLessThanOrEqual(30);
      expect(text.length, text).toBeLessThanOrEqual(260);
    }
  });

  it.each(messages.filter(({ names }) => names.length > 0))('refuses to word $id when a number is missing', ({ id, names }) => {
    const missing = names.find((name) => !spare.has(name))!;
    const { [missing]: _, ...rest } = numbersFor(id, names);
    expect(() => language.messages[id]!(saidOf(rest), abouts[0]!)).toThrow(WordingError);
  });

  it('never asks to take safeties or spotter arms away', () => {
    const all = messages.map(({ id, names }) => language.messages[id]!(saidOf(numbersFor(id, names)), abouts[0]!));
    const told = [...all, language.reply.cautions, ...language.pictures.guideTips].flatMap((text) => text.split(/(?<=\.) /));
    const safeties = told.filter((text) => /safet|spotter arm/i.test(text));
    expect(safeties.length).toBeGreaterThan(3);
    for (const text of safeties) {
      expect(text).toMatch(/stay in place|leave .* where they are|keep .* in place/i);
      expect(text).not.toMatch(/remove|take .* (away|off|out)|lower the|unpin/i);
    }
  });
});

describe('templates of moderators', () => {
  it('fills each placeholder, as often as it stands there', () => {
    expect(fillTemplate('{a} and {b} and {a}', { a: '1', b: 'two' })).toBe('1 and two and 1');
  });
  it.each([
    ['an unknown placeholder', 'Move {far}', 'template-placeholder-unknown'],
    ['a name that objects have of themselves', 'Move {constructor}', 'template-placeholder-unknown'],
    ['a brace left open', 'Move {a', 'template-braces'],
    ['a brace too many', 'Move {a}}', 'template-braces'],
    ['an empty placeholder', 'Move {}', 'template-braces'],
  ])('refuses %s', (_, template, code) => {
    expect(() => fillTemplate(template, { a: '1' })).toThrow(expect.objectContaining({ code }));
  });
  it('does not fill again what a value brings in', () => {
    expect(fillTemplate('{a}', { a: '{b} $& $1', b: 'no' })).toBe('{b} $& $1');
  });
});

it('says in English that a part was out of the picture for the whole lift, not for 100 % of it', () => {
  const { messages: english } = languageOf('en');
  const said = (id: string, numbers: Record<string, number | string>) => english[id]!(saidOf(numbers), abouts[0]!);
  const lost = (outsidePercent: number) => said('parts-in-frame/part-lost', { part: 'feet', moment: 'start', outsidePercent });
  expect(lost(100)).toContain('Your feet were out of the picture for the whole lift.');
  expect(lost(95)).toContain('for 95 % of the lift.');
  expect(said('parts-in-frame/part-hidden', { part: 'feet', hiddenPercent: 100 })).toContain('hidden for the whole lift.');
});
