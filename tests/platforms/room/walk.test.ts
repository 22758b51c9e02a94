import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Bot, createBot } from '../../../src/bot/bot.ts';
import { createLiveRules } from '../../../src/bot/live-rules.ts';
import { parseCaption } from '../../../src/captions/parse.ts';
import type { Facts } from '../../../src/facts/facts.ts';
import { judge } from '../../../src/judge/judge.ts';
import { liftAsSet } from '../../../src/judge/lift-as-set.ts';
import { openLedger } from '../../../src/ledger/open.ts';
import type { Ledger } from '../../../src/ledger/port.ts';
import { botSettingsOf, localRoom, threadUrlOf } from '../../../src/main/platforms.ts';
import { drawOf, language, wordsOf } from '../../../src/main/words.ts';
import { createEmbeddedQueue } from '../../../src/queue/embedded.ts';
import type { WorkerPool } from '../../../src/queue/worker-pool.ts';
import { readEnvironment } from '../../../src/settings/environment.ts';
import { parseSettings } from '../../../src/settings/load.ts';
import { exampleFacts, viewAt } from '../../facts-example.ts';

/** With QUARTERVIEW_SHOTS set to a folder the walk leaves its pictures there for looking at. */
const shots = process.env.QUARTERVIEW_SHOTS ?? null;
const waitMs = 60_000;

/** The whole bot over a room, but for measuring: the clip's length in bytes says what was found in it. */
async function startRoom(
  folder: string,
  found: Map<number, Facts>,
  still: string,
): Promise<{ bot: Bot; url: string; ledger: Ledger }> {
  const log = pino({ level: 'silent' });
  const settings = parseSettings('room: { port: 0 }\nreplies: { retryAfterS: 0.05 }', 'settings of this test');
  const configuration = { environment: readEnvironment({}), settings, rules: {}, rulesText: '', dataFolder: folder };
  const spool = join(folder, 'spool');
  mkdirSync(spool);
  const ledger = await openLedger({ file: ':memory:' });
  const rules = await createLiveRules(ledger, '', { log, nowMs: Date.now });
  const live = () => rules.inForce().settings;
  const room = localRoom(configuration, log);
  const pool: WorkerPool = {
    size: 1,
    async run({ id, file }) {
      const facts = found.get(statSync(file).size);
      if (facts === undefined) throw new Error('a clip that is not of this test');
      return { kind: 'facts', id, facts, timings: {} };
    },
    close: async () => {},
  };
  const botSettings = botSettingsOf(configuration);
  const bot = createBot({
    ...{ ledger, platforms: [room], rules, spool, log, language, nowMs: Date.now, random: Math.random },
    queue: createEmbeddedQueue({ store: ledger.jobs, pool, log, retryAfterMs: 50 }),
    async runTask(task) {
      if (task.kind === 'cut') copyFileSync(task.file, task.out);
      if (task.kind === 'stills') for (const i of task.timesS.keys()) copyFileSync(still, join(task.out, `00${i}.jpg`));
      return { kind: 'written', id: task.id, paths: [], bytes: 3 };
    },
    readCaption: (text) => parseCaption(text, settings.captions),
    judge: (facts, request) => judge(facts, { request, settings: live() }),
    asSet: (lift) => liftAsSet(lift, live()),
    words: wordsOf(live, log),
    draw: drawOf(live),
    settings: () => botSettings,
    threadUrl: threadUrlOf(configuration, room),
  });
  await bot.start();
  return { bot, ledger, url: room.address() ?? '' };
}

describe('member, coach and moderator in the room', () => {
  let folder: string;
  let browser: Browser;
  let bot: Bot;
  let ledger: Ledger;
  let page: Page;
  let retake: string;
  const faults: string[] = [];

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'qv-room-walk-'));
    const ffmpeg = (...args: string[]) => execFileSync('ffmpeg', ['-hide_banner', '-loglevel', 'error', ...args]);
    const source = ['-f', 'lavfi', '-i', 'testsrc2=size=180x320:rate=24:duration=1'];
    const still = join(folder, 'still.jpg');
    retake = join(folder, 'retake.webm');
    ffmpeg(...source, '-c:v', 'libvpx', '-b:v', '100k', retake);
    ffmpeg(...source, '-frames:v', '1', still);
    const sample = statSync(new URL('../../../samples/squat-side.mp4', import.meta.url)).size;
    const found = new Map([
      [sample, exampleFacts('squat', { view: viewAt(88) })],
      [statSync(retake).size, exampleFacts('squat')],
    ]);
    const started = await startRoom(folder, found, still);
    bot = started.bot;
    ledger = started.ledger;
    browser = await chromium.launch({
      executablePath: '/usr/bin/chromium',
      args: '--no-sandbox --disable-gpu --no-first-run --disable-background-networking --disable-component-update'.split(' '),
    });
    const context = await browser.newContext({ viewport: { width: 1200, height: 900 }, locale: 'en-GB' });
    page = await context.newPage();
    page.setDefaultTimeout(waitMs);
    page.on('pageerror', (error) => faults.push(error.message));
    page.on('console', (line) => line.type() === 'error' && faults.push(line.text()));
    await page.goto(started.url);
    await page.getByText('Live', { exact: true }).waitFor();
  }, 120_000);
  afterAll(async () => {
    await browser?.close();
    await bot?.stop(1000);
    await ledger?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const shot = async (name: string) => {
    if (shots === null) return;
    mkdirSync(shots, { recursive: true });
    for (const [colorScheme, width] of [
      ['light', 1200],
      ['dark', 390],
    ] as const) {
      await page.emulateMedia({ colorScheme });
      await page.setViewportSize({ width, height: 900 });
      expect(await page.evaluate(() => document.documentElement.scrollWidth), `${name} fits ${width} px`).toBe(width);
      await page.screenshot({ path: join(shots, `walk-${name}-${width}-${colorScheme}.png`), fullPage: true });
    }
    await page.emulateMedia({ colorScheme: 'light' });
    await page.setViewportSize({ width: 1200, height: 900 });
  };
  const be = async (role: string, heading: string) => {
    await page.getByRole('radio', { name: role }).check();
    await page.getByRole('heading', { name: heading, level: 1 }).waitFor();
  };
  const part = (name: string) =>
    page.getByRole('navigation', { name: 'Parts of the room' }).getByRole('button', { name }).click();
  const button = (name: string) => page.getByRole('button', { name, exact: true });
  const message = (text: string) => page.getByRole('article').filter({ hasText: text });
  const told = () => page.getByRole('region', { name: 'Answer for you alone' });

  it('takes a member from a clip that is sent back to one that a coach gets', { timeout: 240_000 }, async () => {
    await button('Try the sample clip').click();
    const answer = message('One thing about the filming to change');
    await answer.waitFor();
    await page.getByRole('list', { name: 'Marks' }).getByText('Please film again').waitFor();
    await answer.getByRole('img').first().waitFor();
    await shot('member-fix');

    await part('Ask the bot');
    await button('Film…').click();
    const film = page.getByRole('dialog', { name: 'Film' });
    await film.getByRole('combobox', { name: 'Lift' }).selectOption({ label: 'squat' });
    await shot('member-ask');
    await film.getByRole('button', { name: 'Ask' }).click();
    await told().getByText('How to film the squat').waitFor();
    await told().getByRole('img').first().waitFor();
    await shot('member-guide');

    await part('Clips');
    await answer.getByRole('button', { name: 'Send it to a coach anyway' }).click();
    const appeal = page.getByRole('dialog', { name: 'Send it to a coach anyway' });
    await appeal.getByRole('textbox').fill('My gym has a pillar behind me.');
    await shot('member-appeal');
    await appeal.getByRole('button', { name: 'Send' }).click();
    await told().waitFor();

    await page.getByText('Answer with a new take').click();
    await page.getByLabel('Choose the new take').setInputFiles(retake);
    await page.getByRole('form', { name: 'Answer with a new take' }).getByRole('textbox').fill('squat 60 kg x2');
    await button('Post the new take').click();
    await message('retake.webm').getByText('Clean, with the coaches').waitFor();
    await shot('member-clean');
    expect(faults).toEqual([]);
  });

  it('takes a coach through the list: take, done, ask for another view', { timeout: 240_000 }, async () => {
    await be('Coach', 'Coaches’ list');
    const card = message('Juno').filter({ has: button('Take') });
    await card.nth(1).waitFor();
    expect(await card.count(), 'the appeal and the new take').toBe(2);
    await shot('coach-list');
    await button('Waiting').click();
    await told().getByText('2 clips wait').waitFor();
    await shot('coach-waiting');
    await told().getByRole('button', { name: 'Take 2' }).click();
    await told().getByText('It is yours now').waitFor();
    await message('With Brannock.').waitFor();
    await told().getByRole('button', { name: 'Done' }).click();
    await told().getByText("Done. Juno's post has the mark for it.").waitFor();
    await message('Done by Brannock.').waitFor();
    expect(await card.count()).toBe(1);

    await card.getByRole('button', { name: 'Ask for another view' }).click();
    const form = page.getByRole('dialog', { name: 'Another view' });
    await form.getByRole('combobox', { name: 'What do you want to see?' }).selectOption({ index: 1 });
    await form.getByRole('textbox', { name: 'A note to the member' }).fill('For the knees.');
    await shot('coach-ask');
    await form.getByRole('button', { name: 'Send' }).click();
    await told().getByText('I told Juno in their thread.').waitFor();
    await shot('coach-asked');

    await part('Clips');
    await message('Brannock would like to see your squat').waitFor();
    await message('retake.webm').getByText('Answered by a coach').waitFor();
    expect(faults).toEqual([]);
  });

  it('lets a coach hand back, and send back what cannot be used; the member is told and looks at their clips', {
    timeout: 240_000,
  }, async () => {
    await part('Coaches’ list');
    const card = message('The member sent this on.');
    const take = card.getByRole('button', { name: 'Take', exact: true });
    await take.click();
    await card.getByText('With Brannock.').waitFor();
    await card.getByRole('button', { name: 'Hand back' }).first().click();
    await told().getByText('It waits for a coach again.').waitFor();
    await take.waitFor();
    await card.getByRole('button', { name: 'Filming is not usable' }).click();
    const form = page.getByRole('dialog', { name: 'Not usable' });
    await form.getByRole('combobox', { name: 'What is not good enough?' }).selectOption('obstruction');
    await form.getByRole('textbox', { name: 'A note to the member' }).fill('The rack hides your hips.');
    await shot('coach-unusable');
    await form.getByRole('button', { name: 'Send' }).click();
    await message('Sent back by Brannock').waitFor();
    await button('Waiting').click();
    await told().getByText('No clip waits for a coach.').waitFor();
    await shot('coach-sent-back');

    await be('Member', 'Clips');
    await message('The rack hides your hips.').waitFor();
    await shot('member-sent-back');
    await part('Ask the bot');
    await button('My height…').click();
    const height = page.getByRole('dialog', { name: 'My height' });
    await height.getByRole('textbox').fill('5 ft 10');
    await height.getByRole('button', { name: 'Ask' }).click();
    await told().getByText('Your height is 178 cm').waitFor();
    await button('My lifts…').click();
    await page.getByRole('dialog', { name: 'My lifts' }).getByRole('button', { name: 'Ask' }).click();
    await told().getByText('2 takes.').waitFor();
    await shot('member-history');
    expect(faults).toEqual([]);
  });

  it('takes a moderator through a change of a rule and back', { timeout: 240_000 }, async () => {
    await be('Moderator', 'Moderators’ desk');
    const giveReason = async (title: string, why: string) => {
      const dialog = page.getByRole('dialog', { name: title });
      await dialog.getByRole('textbox', { name: 'Why' }).fill(why);
      await dialog.getByRole('button', { name: 'Send' }).click();
    };
    await button('Rules…').click();
    await page.getByRole('dialog', { name: 'Rules' }).getByRole('button', { name: 'Ask' }).click();
    await told().getByText('Rules for all lifts').waitFor();
    await shot('moderator-rules');
    await told().getByRole('combobox', { name: 'Look at a rule' }).selectOption('view');
    await button('Choose: Look at a rule').click();
    await button('Change this rule').click();
    const change = page.getByRole('dialog', { name: 'Change view' });
    await change.getByRole('combobox', { name: 'For which lift' }).selectOption('squat');
    await change.getByRole('combobox', { name: 'What it does' }).selectOption('advise');
    await shot('moderator-change');
    await change.getByRole('button', { name: 'Send' }).click();
    await told().getByText('1 clip: sent back → clean').waitFor();
    await shot('moderator-effect');
    await button('Apply').click();
    await giveReason('Apply the change', 'The pillar at Millrace is in the way.');
    await told().getByText('Clips are judged by it from now on.').waitFor();
    await message('Wren changed the rules').getByRole('button', { name: 'Undo this change' }).click();
    await giveReason('Undo the change', 'The pillar is gone.');
    await told().getByText('the rules are again as they were before').waitFor();
    await message('The pillar is gone.').waitFor();
    await shot('moderator-undone');
    await button('Report').click();
    await told().getByText('First takes:').waitFor();
    await shot('moderator-report');
    expect(faults).toEqual([]);
  });

  it('forgets a member who says so', { timeout: 240_000 }, async () => {
    await be('Member', 'Clips');
    await part('Ask the bot');
    await button('Forget me').click();
    await told().getByText('Delete all that I keep of you?').waitFor();
    await shot('member-forget');
    await told().getByRole('button', { name: 'Delete it all' }).click();
    await told().getByText('What I kept of you and your 2 clips is deleted.').waitFor();
    await part('Clips');
    await page.getByText('the bot ·').first().waitFor({ state: 'detached' });
    await shot('member-forgotten');
    expect(await message('squat 60 kg x2').count(), 'their own posts stay').toBeGreaterThan(0);
    expect(faults).toEqual([]);
  });
});
