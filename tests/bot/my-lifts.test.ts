import { existsSync, utimesSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { chartName } from '../../src/bot/desk/member/drawn.ts';
import { statureCmOf } from '../../src/bot/desk/member/stature.ts';
import type { Facts } from '../../src/facts/facts.ts';
import type { Finding } from '../../src/rules/finding.ts';
import { factsOfSet } from '../record/made-sets.ts';
import { createScene, until } from './setup.ts';

let scene: Awaited<ReturnType<typeof createScene>>;
beforeEach(async () => {
  scene = await createScene();
  await scene.startBot();
});
afterEach(() => scene.close());

const dayMs = 24 * 3_600_000;
const fix = (rule: string): Finding => ({ rule, message: 'm', severity: 'fix', numbers: {} });
let n = 0;

/** A clip that was judged on this day of 2027, of which a new take is told by `takeOf`. */
async function keep(
  day: number,
  {
    facts = factsOfSet({ meansMps: [0.5, 0.4], loadKg: 100 }),
    findings = [],
    ...more
  }: { facts?: Facts; findings?: Finding[]; by?: string; takeOf?: string; lift?: string; verdict?: 'unsure' } = {},
): Promise<string> {
  n += 1;
  const id = `clip-${n}`;
  const ref = { platform: 'room', channel: 'form-check', message: id, thread: null } as const;
  const file = { id: 'f', name: 'a.mp4', contentType: null, bytes: 1 };
  const by = more.by ?? 'juno';
  const takeOf = more.takeOf ?? null;
  const sentMs = Date.UTC(2027, 0, day, 12);
  await scene.ledger.receive(
    { id, ref, lane: id, file, takeOf, root: takeOf ?? id, authorId: by, authorName: by, caption: '', sentMs },
    [],
    1,
  );
  const verdict = findings.length > 0 ? 'fix' : (more.verdict ?? 'clean');
  const judgement = {
    verdict,
    lift: more.lift ?? 'squat',
    findings,
    cannotTell: [],
    trim: null,
    cleanByTrim: false,
    wanted: null,
  };
  await scene.ledger.move(id, ['received'], 'answered', 2, { facts, judgement, verdict });
  return id;
}

async function ask(id: string, values: Record<string, string> = {}, by = 'juno') {
  const reply = await scene.world.act({ kind: 'command', id, values }, by);
  if (reply.kind !== 'private') throw new Error(reply.kind);
  return reply.message;
}

describe('my lifts', () => {
  it('says takes, first takes that were clean, and what was sent back most, of the member alone', async () => {
    const first = await keep(1, { findings: [fix('view'), fix('light')] });
    await keep(1, { takeOf: first, findings: [fix('view')] });
    await keep(2);
    await keep(3, { verdict: 'unsure' });
    await keep(3, { by: 'tamsin', findings: [fix('cuts')] });
    const { text } = await ask('my-lifts');
    expect(text.split('\n').slice(0, 3)).toEqual([
      '**Your clips:** 4 takes. Clean at the first take: 1 of 3 (33 %).',
      'Sent back most for: where the phone stands (2 clips), the light (1 clip).',
      '**Sets that went to the coaches, the newest first:**',
    ]);
    expect(text).not.toMatch(/cuts|tamsin/);
    expect((await ask('my-lifts', {}, 'odo')).text).toBe('I know no clip of yours yet.');
    expect((await ask('my-lifts', { lift: 'bench' })).text).toBe('I know no clip of a bench press of yours yet.');
  });

  it('tells rep times and bar speed of each set, compares the newest with the one before of that load, and draws it', async () => {
    await keep(1, { facts: factsOfSet({ meansMps: [0.5, 0.4], loadKg: 100 }) });
    await keep(2, { facts: factsOfSet({ meansMps: [0.3], loadKg: 140 }) });
    await keep(3, { facts: factsOfSet({ meansMps: [0.8, 0.75, 0.7], loadKg: 100 }) });
    const { text, files } = await ask('my-lifts');
    const sets = text.split('\n').filter((line) => line.startsWith('**2027'));
    expect(sets.map((line) => line.split(':**')[0])).toEqual([
      '**2027-01-03, squat 100 kg x 3',
      '**2027-01-02, squat 140 kg x 1',
      '**2027-01-01, squat 100 kg x 2',
    ]);
    expect(sets[0]).toContain('rep times 4.5, 4.5, 4.5 s. Bar speed on the way up, mean of each rep: 0.80, 0.75, 0.70 m/s');
    expect(sets[0]).toContain('for a lifter of average height');
    expect(text).toContain('The squat of 2027-01-03: Faster than on 2027-01-01 with 100 kg');
    expect(text).toContain('my-height');
    expect(files).toEqual([expect.objectContaining({ name: 'bar-speed.png', alt: '3 reps beside 2' })]);
    expect(files[0]!.path).not.toContain('juno');
    await scene.ledger.members.set('room', 'juno', { statureCm: 190 });
    const tall = (await ask('my-lifts')).text;
    expect(tall).toContain(`${((0.8 * 1.9) / 1.73).toFixed(2)}, `); // the facts were scaled for 1.73 m
    expect(tall).not.toMatch(/average height|my-height/);
  });

  it('keeps to rep times where no speed is known, and shows the newest few of many', async () => {
    const { barSpeed: _, ...rest } = factsOfSet({ meansMps: [0.5] });
    for (let day = 1; day <= 7; day += 1)
      await keep(day, { facts: { ...rest, barSpeed: { known: false, reason: 'camera-moves' } } });
    const { text, files } = await ask('my-lifts', { lift: 'squat' });
    expect(text).toContain('**The newest 5 of 7 sets that went to the coaches:**');
    expect(text).toContain('rep times 4.5 s. Bar speed: cannot tell (the phone moved).');
    expect(text.match(/\*\*2027/g)).toHaveLength(5);
    expect(files).toEqual([]);
    expect(text.length).toBeLessThan(2000); // one Discord message
  });

  it('leaves no picture for longer than clips are kept', async () => {
    await keep(1);
    const [file] = (await ask('my-lifts')).files;
    utimesSync(file!.path, 1000, 1000);
    scene.clock.nowMs = 1_000_000 + scene.settings.clipHours * 3_600_000 - 1;
    await scene.startBot();
    await wait(50);
    expect(existsSync(file!.path)).toBe(true);
    scene.clock.nowMs += 1;
    await scene.startBot();
    await until(() => !existsSync(file!.path));
  });

  it('leaves no picture when the member is forgotten', async () => {
    await keep(1);
    const [file] = (await ask('my-lifts')).files;
    expect(file!.path).toBe(join(scene.folder, `${chartName({ platform: 'room', id: 'juno' })}.png`));
    await scene.world.act({ kind: 'button', id: 'forget-me:yes' });
    expect(existsSync(file!.path)).toBe(false);
    scene.clock.nowMs += dayMs;
    expect((await ask('my-lifts')).text).toBe('I know no clip of yours yet.');
  });
});

describe('my height', () => {
  // By the international inch of 2.54 cm.
  it.each([
    ['178', 178],
    ['178 cm', 178],
    ['178.4cm', 178],
    ['1.78 m', 178],
    ['1,78 m', 178],
    ['1.78', 178],
    ['2 m', 200],
    [`5'10"`, 178],
    ['5’10”', 178],
    ['5 ft 10', 178],
    ['5ft10in', 178],
    ['5 feet 10 inches', 178],
    ['6 ft', 183],
    [`6'`, 183],
    ['70 in', 178],
    ['120', 120],
    ['230 cm', 230],
    ['119', null],
    ['231', null],
    ['5 ft 12', null],
    ['10 ft', null],
    ['78 kg', null],
    ['tall', null],
    ['', null],
    ['178; drop table members', null],
  ])('reads %s as %s cm', (text, cm) => {
    expect(statureCmOf(text)).toBe(cm);
  });

  it('is set, shown, taken back, and kept when it is not understood', async () => {
    expect((await ask('my-height')).text).toContain('not set');
    expect((await ask('my-height', { height: ` 5'10" ` })).text).toContain('Your height is 178 cm (5 ft 10 in).');
    expect((await ask('my-height', { height: 'tall' })).text).toContain('could not read');
    expect((await ask('my-height')).text).toBe('Your height is set to 178 cm (5 ft 10 in).');
    expect((await ask('my-height', {}, 'tamsin')).text).toContain('not set');
    expect((await ask('my-height', { height: 'Off' })).text).toContain('no longer kept');
    expect(await scene.ledger.members.get('room', 'juno')).toEqual({ statureCm: null, cautionedMs: null });
  });
});
