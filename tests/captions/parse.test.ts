import { describe, expect, test } from 'vitest';
import { parseCaption } from '../../src/captions/parse.ts';
import { CaptionFacts } from '../../src/facts/facts.ts';
import { lifts, otherNames } from '../../src/lifts/index.ts';

const nothing: CaptionFacts = { lift: null, loadKg: null, loadUnit: null, reps: null, sets: null, rpe: null, question: null };

function read(text: string, unitWhenSilent: 'kg' | 'lb' | null = null): CaptionFacts {
  const fact = parseCaption(text, { unitWhenSilent });
  return fact.known ? CaptionFacts.parse(fact.value) : nothing;
}

describe('lift', () => {
  test.each([
    ['squats today', 'squat'],
    ['Back-Squat', 'squat'],
    ['#frontsquat #front squat', 'squat'],
    ['SSB work', 'squat'],
    ['OHP', 'press'],
    ['Strict press', 'press'],
    ['pressed it', 'press'],
    ['DL', 'deadlift'],
    ['sumo', 'deadlift'],
    ['RDLs', 'deadlift'],
    ['dead lift', 'deadlift'],
    ['bp', 'bench'],
    ['bench press', 'bench'],
    ['incline press', 'bench'],
    ['push press', 'other'],
    ['push-press', 'other'],
    ['push jerk', 'other'],
    ['hang clean', 'other'],
    ['squat clean', 'other'],
    ['leg press', 'other'],
    ['split squats', 'other'],
    ['ｂｅｎｃｈ　ｐｒｅｓｓ', 'bench'],
    ['**squat** PR', 'squat'],
    ['<@42> <:barbell:77> squat <#9>', 'squat'],
    ['squat, paused squat', 'squat'],
    ['Squat? Or deadlift', null],
    ['squat and bench', null],
    ['https://clips.example/squat/bench 80kg', null],
    ['expressive squats', 'squat'],
    ['a clean set of squats', 'squat'],
    ['three in a row', null],
    ['slow mo', null],
    ['', null],
  ])('%s', (text, lift) => expect(read(text).lift).toBe(lift));

  test('each name is read as its own lift, and none belongs to two', () => {
    const owners = new Map<string, string>();
    for (const [id, names] of [...lifts.map((lift) => [lift.id, lift.names] as const), ['other', otherNames] as const]) {
      for (const name of names) {
        expect(owners.get(name), name).toBeUndefined();
        owners.set(name, id);
        expect(name).toBe(name.toLowerCase().trim());
        expect(read(name.toUpperCase()).lift, name).toBe(id);
      }
    }
  });
});

describe('load', () => {
  // Pound to kilogram: 0.45359237 exactly, international yard and pound agreement of 1959.
  test.each([
    ['140kg', 140, 'kg'],
    ['140 KG', 140, 'kg'],
    ['102,5 kg', 102.5, 'kg'],
    ['102.5kilos', 102.5, 'kg'],
    ['1 lb', 0.45359237, 'lb'],
    ['315 lbs', 315 * 0.45359237, 'lb'],
    ['315# x 3', 315 * 0.45359237, 'lb'],
    ['1,000 pounds', 453.59237, 'lb'],
    ['bw 80kg, squat 140kg', 140, 'kg'],
    ['80 kg bodyweight', null, null],
    ['1,500 lbs', null, null],
    ['651kg', null, null],
    ['650kg', 650, 'kg'],
    ['0kg', null, null],
    ['225x3', null, null],
    ['3x5 @ 100', null, null],
    ['2 plates', null, null],
    ['80%', null, null],
    ['12:30', null, null],
    ['3/5', null, null],
    ['100-110', null, null],
    ['99999999999999999999kg', null, null],
    ['100kg then 110kg', 100, 'kg'],
    ['top set 3x100 then 60kg', 60, 'kg'],
  ] as const)('%s', (text, loadKg, loadUnit) => {
    const facts = read(text);
    expect(facts.loadUnit).toBe(loadUnit);
    if (loadKg === null) expect(facts.loadKg).toBeNull();
    else expect(facts.loadKg).toBeCloseTo(loadKg, 10);
  });

  test('a community may have a usual unit', () => {
    expect(read('225x3', 'lb')).toMatchObject({ loadKg: 225 * 0.45359237, loadUnit: 'lb', reps: 3 });
    expect(read('225kg x3', 'lb')).toMatchObject({ loadKg: 225, loadUnit: 'kg' });
    expect(read('3x5 @ 100', 'kg')).toMatchObject({ loadKg: 100, sets: 3, reps: 5 });
    expect(read('140 for 5', 'kg')).toMatchObject({ loadKg: 140, reps: 5 });
    expect(read('set of 8', 'kg')).toMatchObject({ loadKg: null, reps: 8 });
  });
});

// Sets before reps in "3x5", load before reps in "100x5": trade custom, common practice.
describe('sets, reps and RPE', () => {
  test.each([
    ['3x5', 3, 5, null],
    ['5x3', 5, 3, null],
    ['3 x 5 @ 100kg', 3, 5, null],
    ['3×5', 3, 5, null],
    ['3*5', 3, 5, null],
    ['3x5x100kg', 3, 5, null],
    ['100kg x 5', null, 5, null],
    ['100kgx5', null, 5, null],
    ['100kg x 5 x 3', 3, 5, null],
    ['225x3', null, 3, null],
    ['5x100kg', null, 5, null],
    ['5 @ 100kg', null, 5, null],
    ['140kg for 5', null, 5, null],
    ['140kg 3x5 @8', 3, 5, 8],
    ['@8.5', null, null, 8.5],
    ['@ RPE 9', null, null, 9],
    ['RPE: 7', null, null, 7],
    ['rpe8', null, null, 8],
    ['9 RPE', null, null, 9],
    ['RPE 11', null, null, null],
    ['RPE 7.3', null, null, null],
    ['@2', null, null, null],
    ['@80%', null, null, null],
    ['a single', null, 1, null],
    ['heavy triple @9', null, 3, 9],
    ['5RM', null, 5, null],
    ['8 reps', null, 8, null],
    ['3 sets of 5', 3, 5, null],
    ['4 sets', 4, null, null],
    ['x5', null, 5, null],
    ['for 3 weeks', null, null, null],
    ['hold for 10 s', null, null, null],
    ['2.5 reps', null, null, null],
    ['0 reps', null, null, null],
  ] as const)('%s', (text, sets, reps, rpe) => expect(read(text)).toMatchObject({ sets, reps, rpe }));
});

describe('question', () => {
  test.each([
    ['How is my depth?', 'How is my depth?'],
    ['Squat 140kg. Is the depth OK? Thanks!', 'Is the depth OK?'],
    ['102.5kg, depth?', '102.5kg, depth?'],
    ['Depth? **Knees**? Good.', 'Depth? Knees?'],
    ['one line\nis it deep\nenough?', 'enough?'],
    ['really???', 'really?'],
    ['Tiefe gut？', 'Tiefe gut?'],
    ['?', null],
    ['No question.', null],
    ['https://clips.example/?a=b', null],
  ])('%s', (text, question) => expect(read(text).question).toBe(question));

  test('a long one is cut, never inside a character', () => {
    const question = read(`${'💪'.repeat(1000)}?`).question!;
    expect(question.length).toBeLessThanOrEqual(401);
    expect(() => encodeURIComponent(question)).not.toThrow();
  });
});

test('nothing stated is unknown, not empty', () => {
  for (const text of ['', '   ', 'PR!', '💪💪', '<@1>', '\u0000'])
    expect(parseCaption(text)).toEqual({ known: false, reason: 'not-stated' });
});

describe('odd and huge captions', () => {
  const odd = [
    'x',
    '1',
    '1x',
    '@',
    '<@',
    '?',
    '.',
    '3x5 ',
    'hang ',
    'squat 3x5 @8? ',
    '<:a',
    'https://',
    '**',
    '\u202e',
    'e\u0301',
    '\ud800',
    'ﷺ',
    '1,',
    '- ',
  ];

  test.each(odd)('100 kB of %j gives a valid answer', (piece) => {
    const fact = parseCaption(piece.repeat(Math.ceil(100_000 / piece.length)));
    if (fact.known) CaptionFacts.parse(fact.value);
  });

  test('twice the text takes about twice the time', () => {
    const timesOf = (text: string) =>
      [0, 1, 2].map(() => {
        const from = process.cpuUsage();
        parseCaption(text);
        return process.cpuUsage(from).user;
      });
    // A quadratic step would make eight times the text cost 64 times as much; 24 leaves room for a loaded machine, on which the clock of the
    // processor may stand still for a short text.
    for (const piece of ['squat 3x5 @8? ', '<@', '1x', 'hang ']) {
      const short = piece.repeat(Math.ceil(12_500 / piece.length));
      expect(Math.min(...timesOf(short.repeat(8))), piece).toBeLessThan(24 * Math.max(...timesOf(short), 2000));
    }
  });
});
