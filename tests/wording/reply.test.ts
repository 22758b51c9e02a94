import { describe, expect, it } from 'vitest';
import { known } from '../../src/facts/fact.ts';
import type { Finding } from '../../src/rules/finding.ts';
import { wordCard } from '../../src/wording/card.ts';
import { wordProgress } from '../../src/wording/progress.ts';
import { type ReplyOptions, wordError, wordReply } from '../../src/wording/reply.ts';
import { clipFacts, judgementOf, repsFrom } from './clip-facts.ts';

const options: ReplyOptions = { language: 'en', trimmedAttached: false, firstTime: false };
const facts = clipFacts({
  durationS: 57,
  lift: 'squat',
  reps: repsFrom(14, 3),
  azimuthDeg: -85,
  heightClass: 'floor',
  distanceM: 3,
});

function view(azimuthDeg: number, wantedDeg: number, severity: Finding['severity'] = 'fix'): Finding {
  return { rule: 'view', message: 'outside-accepted', severity, numbers: { azimuthDeg, wantedDeg } };
}
const low: Finding = {
  rule: 'camera-height',
  message: 'too-low',
  severity: 'fix',
  numbers: { heightClass: 'floor', minM: 1.5, maxM: 1.8 },
};
const dark: Finding = { rule: 'light', message: 'dark', severity: 'fix', numbers: { meanPercent: 8 } };
const shaky: Finding = { rule: 'steadiness', message: 'propped-or-held', severity: 'advise', numbers: { percentPerS: 1.2 } };
const waiting: Finding = {
  rule: 'dead-time',
  message: 'both-ends',
  severity: 'fix',
  numbers: { leadInS: 14, tailS: 32, maxS: 5 },
};
const corrections = (text: string) => text.split('\n').filter((line) => /^\*\*(\d\.|If you like)/.test(line));

describe('wordReply', () => {
  it('says the verdict first, and what was seen with what to do', () => {
    const { text } = wordReply(judgementOf({ verdict: 'fix', findings: [view(-85, -135)] }), facts, options);
    const lines = text.split('\n');
    expect(lines[0]).toBe('**One thing about the filming to change, then this goes to a coach.**');
    expect(lines[1]).toBe(
      '**1.** The phone was square to your right side, about 85 degrees round from straight ahead. Walk it about 50 degrees (3 steps) further back, until it is behind your right shoulder.',
    );
  });

  it.each([
    [0, 135, 'straight in front of you', 'about 135 degrees (9 steps) round to your left', 'behind your left shoulder'],
    [-178, -135, 'straight behind you', 'about 45 degrees (3 steps) round to your right', 'behind your right shoulder'],
    [
      70,
      135,
      'nearly square to your left side, about 70 degrees',
      'about 65 degrees (5 steps) further back',
      'behind your left shoulder',
    ],
    [
      166,
      135,
      'nearly straight behind you, about 15 degrees to your left',
      'about 30 degrees (2 steps) round to your left',
      'behind your left shoulder',
    ],
    [
      135,
      50,
      'behind your left shoulder, about 135 degrees',
      'about 85 degrees (6 steps) further to the front',
      'in front of your left shoulder',
    ],
  ])('words the walk from %d to %d', (now, wanted, seen, how, end) => {
    const { text } = wordReply(judgementOf({ verdict: 'fix', findings: [view(now, wanted)] }), facts, options);
    expect(text).toContain(`The phone was ${seen}`);
    expect(text).toContain(`Walk it ${how}, until it is ${end}.`);
  });

  it.each([
    [7.3, 'too-far', 'about 5 steps closer'],
    [4.8, 'too-far', 'about 2 steps closer'],
    [4.7, 'too-far', 'one step closer'],
    [1.2, 'too-near', 'about 2 steps back'],
  ])('asks for steps enough to reach the range: %d m is %s', (distanceM, message, words) => {
    const numbers = { distanceM, heightPercent: 18, minM: 2.5, maxM: 4 };
    const judgement = judgementOf({ verdict: 'fix', findings: [{ rule: 'distance', message, severity: 'fix', numbers }] });
    expect(wordReply(judgement, clipFacts({ distanceM }), options).text).toContain(words);
  });

  it.each<[Omit<Finding, 'severity'>, number, string]>([
    [
      { rule: 'distance', message: 'too-far', numbers: { distanceM: 7.9, heightPercent: 18, minM: 2.5, maxM: 3.5 } },
      7.9,
      '7 steps when 3.5 m away)',
    ],
    [
      { rule: 'distance', message: 'too-near', numbers: { distanceM: 1.1, minM: 2.5, maxM: 3.5 } },
      1.1,
      '5 steps when 2.5 m away)',
    ],
    [{ rule: 'lifter-size', message: 'too-small', numbers: { heightPercent: 20, minPercent: 30 } }, 6, '8 steps when 4 m away)'],
    [{ rule: 'lifter-size', message: 'too-close', numbers: { heightPercent: 98, maxPercent: 95 } }, 3, '6 steps)'],
  ])('counts the steps of the walk from where the phone is sent: %o', (finding, distanceM, words) => {
    const findings = [view(-65, -155), { ...finding, severity: 'fix' as const }];
    const { text } = wordReply(judgementOf({ verdict: 'fix', findings }), clipFacts({ distanceM }), options);
    expect(text).toContain(`degrees (${words}`);
  });

  it.each([
    [6, 'Bring the phone about 3 steps closer.'],
    [undefined, 'Bring the phone closer, to about 65 % of the distance.'],
  ])('says how far to come closer from %s m where the lifter is too small', (distanceM, words) => {
    const numbers = { heightPercent: 20, minPercent: 30 };
    const finding = { rule: 'lifter-size', message: 'too-small', severity: 'fix', numbers } as const;
    const shown = clipFacts(distanceM === undefined ? {} : { distanceM });
    expect(wordReply(judgementOf({ verdict: 'fix', findings: [finding] }), shown, options).text).toContain(words);
  });

  it('speaks of feet and head on the bench', () => {
    const { text } = wordReply(judgementOf({ verdict: 'fix', lift: 'bench', findings: [view(150, 45)] }), facts, options);
    expect(text).toContain('towards your feet');
    expect(text).toContain('as you lie on the bench');
  });

  it.each([1, 2, 3, 5, 8])('makes at most three corrections of %d findings, fixes before advice', (n) => {
    const findings = Array.from({ length: n }, (_, i) => (i % 2 === 0 ? low : shaky));
    const { text } = wordReply(judgementOf({ verdict: 'fix', findings }), facts, options);
    const said = corrections(text);
    expect(said).toHaveLength(Math.min(3, n));
    const kinds = said.map((line) => line.startsWith('**If'));
    expect([...kinds].sort()).toEqual(kinds);
    const fixes = Math.ceil(n / 2);
    expect(text.includes('can wait')).toBe(fixes > 3);
  });

  it('keeps the order of the judge among the fixes', () => {
    const { text } = wordReply(judgementOf({ verdict: 'fix', findings: [dark, low] }), facts, options);
    expect(text.indexOf('dark')).toBeLessThan(text.indexOf('on the floor'));
  });

  it('tells of the cut instead of asking for it when the trim cured the clip', () => {
    const judgement = judgementOf({ cleanByTrim: true, trim: { startS: 13, endS: 26 }, findings: [waiting] });
    const { text } = wordReply(judgement, facts, { ...options, trimmedAttached: true });
    expect(text).toContain('13 s before and 31 s after the lift');
    expect(text).toContain('attached');
    expect(corrections(text)).toEqual([]);
    expect(wordReply(judgement, facts, options).text).not.toContain('attached');
  });

  it('asks for the cut when something else is to fix', () => {
    const judgement = judgementOf({ verdict: 'fix', trim: { startS: 13, endS: 26 }, findings: [dark, waiting] });
    expect(corrections(wordReply(judgement, facts, options).text)[1]).toContain('Cut 13 s off the start and 31 s off the end');
  });

  it('says what could not be told, once for each reason', () => {
    const cannotTell = [
      { rule: 'view', reason: 'hidden' },
      { rule: 'camera-height', reason: 'hidden' },
      { rule: 'light', reason: 'not-measured' },
    ];
    const { text } = wordReply(judgementOf({ verdict: 'unsure', cannotTell }), facts, options);
    expect(text).toContain(
      "where the phone stands and the phone's height (too much of you was hidden); the light (not measured)",
    );
  });

  it.each(['clean', 'fix', 'unsure'] as const)(
    'says once that it looks at the filming only (%s), and cautions only the first time',
    (verdict) => {
      const judgement = judgementOf({ verdict, findings: verdict === 'fix' ? [low] : [] });
      const later = wordReply(judgement, facts, options).text;
      expect(later.match(/filming only/g)).toHaveLength(1);
      expect(later).not.toContain('spotter arms');
      expect(wordReply(judgement, facts, { ...options, firstTime: true }).text).toContain(
        'keep safeties and spotter arms in place',
      );
    },
  );

  it('leaves out what is unknown', () => {
    const { text } = wordReply(judgementOf({ lift: null }), clipFacts({}), options);
    expect(text).not.toContain('Seen');
    expect(text).not.toMatch(/undefined|NaN|null/);
  });

  it("prefers a moderator's template, with ids put into words", () => {
    const judgement = judgementOf({ verdict: 'fix', findings: [low] });
    const messageOverrides = (rule: string, message: string) =>
      rule === 'camera-height' && message === 'too-low' ? 'It was {heightClass}: {minM} to {maxM} m, please.' : null;
    expect(corrections(wordReply(judgement, facts, { ...options, messageOverrides }).text)).toEqual([
      '**1.** It was on the floor: 1.5 to 1.8 m, please.',
    ]);
    expect(() => wordReply(judgement, facts, { ...options, messageOverrides: () => 'Use {noSuch}' })).toThrow(
      expect.objectContaining({ code: 'template-placeholder-unknown' }),
    );
  });

  it('refuses a message and a language without words', () => {
    expect(() => wordReply(judgementOf({ findings: [{ ...low, message: 'toString' }] }), facts, options)).toThrow(
      expect.objectContaining({ code: 'message-unknown' }),
    );
    expect(() => wordReply(judgementOf({}), facts, { ...options, language: 'constructor' })).toThrow(
      expect.objectContaining({ code: 'language-unknown' }),
    );
    expect(() => wordError('no-such-code', 'en')).toThrow(expect.objectContaining({ code: 'message-unknown' }));
  });
});

describe('wordCard', () => {
  it('tells the coach lift, load, reps, view and the times of the clip that goes along', () => {
    const { text } = wordCard(judgementOf({}), facts, { language: 'en', name: 'Juno', startsAtS: 13 });
    expect(text.split('\n')).toEqual([
      '**Juno: Squat 100 kg x 3**',
      'View: from the right side (about 85 degrees off the front)',
      'Reps: 1 at 0:01 (3 s), 2 at 0:05 (3 s), 3 at 0:09 (3 s)',
      'Asked: Is my depth ok?',
    ]);
  });

  it('keeps pounds as typed, by the international pound of 0.45359237 kg', () => {
    const caption = known({
      lift: null,
      loadKg: 225 * 0.45359237,
      loadUnit: 'lb' as const,
      reps: null,
      sets: null,
      rpe: null,
      question: null,
    });
    expect(wordCard(judgementOf({}), { ...facts, caption }, { language: 'en', name: null, startsAtS: 0 }).text).toContain(
      '**Squat 225 lb (102 kg) x 3**',
    );
  });

  it('says what could not be told', () => {
    const judgement = judgementOf({ lift: null, cannotTell: [{ rule: 'view', reason: 'hidden' }] });
    const { text } = wordCard(judgement, clipFacts({}), { language: 'en', name: 'Odo', startsAtS: 0 });
    expect(text).toContain('View: could not be told');
    expect(text).toContain('Reps: could not be told');
    expect(text).toContain('where the phone stands (too much of the lifter was hidden)');
  });
});

describe('wordProgress', () => {
  const turn = (moveDeg: number, message = 'outside-accepted'): Finding => ({ ...view(0, 135), message, numbers: { moveDeg } });
  const small: Finding = {
    rule: 'lifter-size',
    message: 'too-small',
    severity: 'fix',
    numbers: { heightPercent: 12, minPercent: 22 },
  };
  const far: Finding = { rule: 'distance', message: 'too-far', severity: 'fix', numbers: { distanceM: 9, maxM: 4 } };
  const place = 'where the phone stands';
  it.each<[string, Finding[], Finding[], string[], string]>([
    [
      'all fixed',
      [low, dark],
      [shaky],
      [],
      "Fixed since the last take: the phone's height and the light.\nEverything from the last take is fixed. Thank you.",
    ],
    ['one left', [low, dark], [dark], [], "Fixed since the last take: the phone's height.\nStill to do: the light."],
    ['one new', [low], [dark], [], "Fixed since the last take: the phone's height.\nNew this time: the light."],
    ['nothing before, nothing after', [shaky], [], [], ''],
    ['first wrong now', [shaky], [dark], [], 'New this time: the light.'],
    ['nearer, at the bound', [turn(80)], [turn(60)], [], `Still to do: ${place} (closer than last time).`],
    ['not near enough to say so', [turn(80)], [turn(61)], [], `Still to do: ${place}.`],
    ['further off', [turn(40)], [turn(80)], [], `Still to do: ${place}.`],
    ['another fault of the same rule', [turn(80)], [turn(10, 'not-requested')], [], `Still to do: ${place}.`],
    [
      'waiting at one end',
      [waiting],
      [{ ...waiting, message: 'tail', numbers: { tailS: 32, maxS: 5 } }],
      [],
      'Still to do: waiting before and after the lift (closer than last time).',
    ],
    ['advice now', [turn(80)], [{ ...turn(10), severity: 'advise' }], [], `Better than last time: ${place}.`],
    [
      'not told now',
      [low, dark],
      [],
      ['light'],
      "Fixed since the last take: the phone's height.\nI could not tell this time: the light.",
    ],
    ['said by another rule now', [small], [far], [], "New this time: the phone's distance."],
  ])('%s', (_, before, after, unknown, text) => {
    const cannotTell = unknown.map((rule) => ({ rule, reason: 'hidden' }));
    expect(wordProgress({ findings: before, cannotTell: [] }, { findings: after, cannotTell }, 'en')).toEqual({ text });
  });
});
