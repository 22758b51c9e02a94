/** The room's page in a real browser. One file over 300 lines: its start costs seconds, so all walks share one. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { Command } from '../../../src/platforms/port.ts';
import { createRoom, type Room, type RoomOptions } from '../../../src/platforms/room/room.ts';
import { plainMessage, recordEvents, until } from '../platform-world.ts';

const commands: Command[] = [
  {
    name: 'film',
    description: 'how to film a lift',
    fields: [
      {
        id: 'lift',
        label: 'Lift',
        required: true,
        options: [
          { value: 'squat', label: 'Squat' },
          { value: 'bench', label: 'Bench press' },
        ],
      },
      { id: 'note', label: 'Anything else', required: false, options: null },
    ],
  },
  { name: 'rules', description: 'what the bot asks for', fields: [] },
];

/** With QUARTERVIEW_SHOTS set to a folder the walk leaves its pictures there for looking at. */
const shots = process.env.QUARTERVIEW_SHOTS ?? null;
const never = new AbortController().signal;

describe('the room in a browser', () => {
  let browser: Browser;
  let folder: string;
  let clip: string;
  let picture: string;
  let room: Room;
  let page: Page;
  let got: ReturnType<typeof recordEvents>;
  let faults: string[];
  let dataFolder: string;
  let stopped: boolean;
  let rooms = 0;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'qv-room-page-'));
    clip = join(folder, 'squat.webm');
    picture = join(folder, 'where.png');
    const ffmpeg = (...args: string[]) => execFileSync('ffmpeg', ['-hide_banner', '-loglevel', 'error', ...args]);
    const source = ['-f', 'lavfi', '-i', 'testsrc2=size=320x426:rate=24:duration=2'];
    ffmpeg(...source, '-c:v', 'libvpx', '-b:v', '300k', clip);
    ffmpeg(...source, '-frames:v', '1', picture);
    browser = await chromium.launch({
      executablePath: '/usr/bin/chromium',
      args: '--no-sandbox --disable-gpu --no-first-run --disable-background-networking --disable-component-update --disable-sync --disable-quic'.split(
        ' ',
      ),
    });
  });
  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const startRoom = async (data: string, port = 0, options: Partial<RoomOptions> = {}) => {
    const sampleClip = { path: clip, caption: 'Squat 60 kg x 3, the sample clip' };
    room = createRoom({ dataFolder: data, port, sampleClip, roleFor: () => 'moderator', ...options });
    got = recordEvents();
    await room.start(got.events, commands, never);
  };
  const open = async (width = 1200, scheme: 'light' | 'dark' = 'light') => {
    const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme: scheme, locale: 'en-GB' });
    const next = await context.newPage();
    next.on('pageerror', (error) => faults.push(error.message));
    next.on('console', (line) => {
      // While the room is stopped on purpose the browser tells each lost request as an error.
      if (line.type() === 'error' && !(stopped && /net::ERR_|401/.test(line.text()))) faults.push(line.text());
    });
    await next.goto(room.address() ?? '');
    return next;
  };
  const shot = async (name: string, of = page) => {
    if (shots === null) return;
    mkdirSync(shots, { recursive: true });
    await of.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
  };
  /** Name or words of what has the keyboard. */
  const focused = () =>
    page.evaluate(() => document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent);
  const radio = (name: string) => page.getByRole('radio', { name });
  const message = (text: string) => page.getByRole('article').filter({ hasText: text });

  beforeEach(async () => {
    faults = [];
    stopped = false;
    dataFolder = join(folder, `data-${rooms++}`);
    await startRoom(dataFolder);
    page = await open();
    await page.getByText('Live', { exact: true }).waitFor();
  });
  afterEach(async () => {
    for (const context of browser.contexts()) await context.close();
    await room.stop();
    expect(faults).toEqual([]);
  });

  /** Posts through the form with the keyboard alone. */
  const postByKeyboard = async (caption: string) => {
    // Asked for early: the browser has to be told before the key comes.
    const chooser = page.waitForEvent('filechooser');
    await page.keyboard.press('Tab');
    await expect.poll(() => page.evaluate(() => document.activeElement?.textContent)).toBe('Skip to the posts');
    await page.keyboard.press('Enter');
    await page.keyboard.press('Tab');
    expect(await page.evaluate(() => (document.activeElement as HTMLInputElement).type)).toBe('file');
    await page.keyboard.press('Enter');
    await (await chooser).setFiles(clip);
    await page.getByRole('list', { name: 'Chosen clips' }).getByText('squat.webm').waitFor();
    await page.keyboard.press('Tab');
    await page.keyboard.press('Tab');
    await page.keyboard.type(caption);
    await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await message(caption).waitFor();
  };

  it('takes a clip from the keyboard and shows marks and answers as they come', async () => {
    await postByKeyboard('Squat 100 kg x 5 <b>deep?</b>');
    expect(await page.getByRole('combobox', { name: 'Order' }).count(), 'one post has no order').toBe(0);
    const posted = await until('message', () => got.messages[0]);
    expect(posted).toMatchObject({ text: 'Squat 100 kg x 5 <b>deep?</b>', author: { id: 'juno', groups: ['member'] } });
    expect(posted.files).toMatchObject([{ name: 'squat.webm', contentType: 'video/webm' }]);
    const player = message('deep?').locator('video');
    await expect.poll(() => player.evaluate((video) => (video as HTMLVideoElement).duration)).toBeCloseTo(2, 0);

    await room.setMarks(posted.ref, ['seen'], never);
    await page.getByRole('list', { name: 'Marks' }).getByText('Seen').waitFor();
    const handle = await player.elementHandle();
    const answer = plainMessage(
      '**Film again, please.**\nStep to the rear quarter: about 40 degrees to your left.\n<img src=x onerror=alert(1)>',
      {
        files: [
          { path: picture, name: 'where.png', alt: 'Where to stand, from above' },
          { path: clip, name: 'trimmed.webm', alt: null },
        ],
        buttons: [
          { id: 'trim:1', label: 'Use the trimmed clip', style: 'good' },
          { id: 'appeal:1', label: 'Send to a coach anyway', style: 'plain' },
        ],
      },
    );
    const ref = await room.post({ channel: 'clips', message: posted.ref }, answer, 'k-1', never);
    await room.setMarks(posted.ref, ['fix'], never);
    await page.getByRole('img', { name: 'Where to stand, from above' }).waitFor();
    expect(await page.getByRole('article', { name: 'Answer of quarterview' }).locator('strong').textContent()).toBe(
      'Film again, please.',
    );
    await page.getByRole('list', { name: 'Marks' }).getByText('Please film again').waitFor();
    expect(await page.getByRole('log', { name: 'News' }).textContent()).toContain('New from quarterview: Film again, please.');
    expect(await player.evaluate((now, before) => now === before, handle), 'the player was not replaced').toBe(true);
    await shot('member-1200-light');

    got.answer = async (action) =>
      action.kind === 'form'
        ? { kind: 'private', message: plainMessage(`Sent to a coach: ${action.values.why}`) }
        : {
            kind: 'form',
            form: {
              id: 'why:1',
              title: 'Send it to a coach anyway',
              fields: [
                {
                  id: 'why',
                  label: 'Why',
                  required: true,
                  hint: 'One sentence will do.',
                  kind: 'text',
                  lines: 'many',
                  maxLength: 200,
                },
              ],
            },
          };
    await page.getByRole('button', { name: 'Send to a coach anyway' }).focus();
    await page.keyboard.press('Enter');
    const dialog = page.getByRole('dialog', { name: 'Send it to a coach anyway' });
    await dialog.waitFor();
    await shot('form-1200-light');
    await dialog.getByRole('textbox', { name: 'Why' }).fill('My coach asked for this view');
    await dialog.getByRole('button', { name: 'Send' }).press('Enter');
    await page.getByRole('region', { name: 'Answer for you alone' }).getByText('My coach asked for this view').waitFor();
    expect(await dialog.isVisible()).toBe(false);
    expect(got.actions.map((a) => [a.kind, a.id, a.where])).toEqual([
      ['button', 'appeal:1', ref],
      ['form', 'why:1', ref],
    ]);

    // Another person's page shows the posts, and nothing of the private answer.
    const other = await open(360, 'dark');
    await other.getByRole('article').filter({ hasText: 'deep?' }).waitFor();
    expect(await other.getByText('My coach asked for this view').count()).toBe(0);
    expect(await other.evaluate(() => document.documentElement.scrollWidth)).toBe(360);
    await shot('member-360-dark', other);
  });

  it('posts the sample, several clips at once, and a new take in the thread', async () => {
    await page.getByRole('button', { name: 'Try the sample clip' }).click();
    await message('the sample clip').waitFor();
    await page.getByLabel('Choose a clip').setInputFiles([clip, picture]);
    await page.getByRole('button', { name: 'Leave out where.png' }).click();
    await page.getByLabel('Choose a clip').setInputFiles([clip]);
    await page.getByRole('textbox', { name: 'Caption' }).first().fill('Two takes');
    await page.getByRole('button', { name: 'Post to the room' }).click();
    await message('Two takes').waitFor();
    const two = await until('two', () => got.messages.find((m) => m.text === 'Two takes'));
    expect(two.files).toHaveLength(2);
    const thread = page.getByRole('region', { name: 'Thread of Juno' }).filter({ hasText: 'Two takes' });
    await thread.getByText('Answer with a new take').click();
    await thread.getByLabel('Choose the new take').setInputFiles(clip);
    await thread.getByRole('button', { name: 'Post the new take' }).click();
    const retake = await until('retake', () => got.messages.find((m) => m.threadStart !== null));
    expect(retake.threadStart).toEqual(two.ref);
    await expect.poll(() => thread.locator('video').count()).toBe(3);
  });

  it('takes a clip that is dropped, and says plainly why it does not take another', async () => {
    await page.evaluate(() => {
      const data = new DataTransfer();
      data.items.add(new File(['clip'], 'dropped.mp4', { type: 'video/mp4' }));
      data.items.add(new File([], 'hollow.mp4'));
      document
        .querySelector('.drop')
        ?.dispatchEvent(new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
    });
    await page.getByRole('alert').getByText('hollow.mp4 is empty.').waitFor();
    await page.getByRole('button', { name: 'Post to the room' }).click();
    const dropped = await until('dropped', () => got.messages[0]);
    expect(dropped.files).toMatchObject([{ name: 'dropped.mp4', bytes: 4 }]);
    await page.getByRole('button', { name: 'Post to the room' }).click();
    await page.getByRole('alert').getByText('Choose a clip first').waitFor();
  });

  it('shows coaches their list, moderators their desk, and members neither', async () => {
    const card = plainMessage('**Juno · Squat 100 kg x 5**\nRear quarter, head height. Clean.', {
      files: [{ path: picture, name: 'sheet.png', alt: 'Contact sheet: start, turn and lockout of 5 reps' }],
      buttons: [
        { id: 'take:1', label: 'Take', style: 'good' },
        { id: 'bad:1', label: 'Filming is not usable', style: 'danger' },
      ],
      choices: [{ id: 'view:1', label: 'Ask for another view', options: [{ value: 'front', label: 'Front' }] }],
      mention: 'coach',
    });
    await room.post({ channel: 'coaches', message: null }, card, 'k-1', never);
    await room.post({ channel: 'coaches', message: null }, plainMessage('Second card'), 'k-2', never);
    await room.post({ channel: 'moderators', message: null }, plainMessage('Weekly report: 12 submissions'), 'k-3', never);
    const parts = page.getByRole('navigation', { name: 'Parts of the room' }).getByRole('button');
    expect(await parts.allTextContents()).toEqual(['Clips', 'Ask the bot']);
    await parts
      .getByText('Ask the bot')
      .or(parts.filter({ hasText: 'Ask the bot' }))
      .first()
      .click();
    expect(await page.getByRole('list', { name: 'What you can ask the bot' }).count(), 'no command is for members').toBe(0);
    expect(await page.getByText('Second card').count()).toBe(0);

    await radio('Coach').focus();
    await radio('Coach').press('Space');
    await page.getByRole('heading', { name: 'Coaches’ list', level: 1 }).waitFor();
    await page.getByRole('img', { name: 'Contact sheet: start, turn and lockout of 5 reps' }).waitFor();
    expect(await page.getByRole('article').first().textContent(), 'who came first is served first').toContain('Juno');
    await page.getByRole('combobox', { name: 'Order' }).selectOption('newest');
    await expect.poll(() => page.getByRole('article').first().textContent()).toContain('Second card');
    got.answer = async () => ({ kind: 'private', message: plainMessage('It is yours.') });
    await page.getByRole('button', { name: 'Take', exact: true }).click();
    await page.getByText('It is yours.').waitFor();
    await page.getByRole('combobox', { name: 'Ask for another view' }).selectOption('front');
    await page.getByRole('button', { name: 'Choose: Ask for another view' }).click();
    await until('choice', () => got.actions.find((a) => a.kind === 'choice'));
    expect(got.actions.map((a) => [a.person.id, a.id, a.values])).toEqual([
      ['brannock', 'take:1', {}],
      ['brannock', 'view:1', { 'view:1': 'front' }],
    ]);
    await shot('coach-1200-light');

    await radio('Moderator').check();
    await page.getByRole('heading', { name: 'Moderators’ desk' }).waitFor();
    await page.getByText('Weekly report: 12 submissions').waitFor();
    await page.getByRole('button', { name: 'Film…' }).press('Enter');
    const form = page.getByRole('dialog', { name: 'Film' });
    await form.getByRole('combobox', { name: 'Lift' }).selectOption('squat');
    got.answer = async () => ({
      kind: 'private',
      message: plainMessage('From the **rear quarter**.', {
        files: [{ path: picture, name: 'where.png', alt: 'Camera place for the squat' }],
      }),
    });
    await form.getByRole('button', { name: 'Ask' }).click();
    await page.getByRole('img', { name: 'Camera place for the squat' }).waitFor();
    expect(got.actions.at(-1)).toMatchObject({
      kind: 'command',
      id: 'film',
      person: { id: 'wren', groups: ['moderator'] },
      values: { lift: 'squat' },
    });
    await expect.poll(() => focused()).toBe('Answer for you alone');
    await shot('moderator-1200-light');
    await page.getByRole('button', { name: 'Put away' }).press('Enter');
    expect(await focused()).toBe('Film…');
    await page.keyboard.press('Enter');
    expect(await form.getByRole('combobox', { name: 'Lift' }).inputValue(), 'what was asked last stands there').toBe('squat');
    await page.keyboard.press('Escape');
    await expect.poll(() => focused()).toBe('Film…');
    got.answer = async () => ({ kind: 'private', message: plainMessage('1. Where the camera stands.\n2. How high.') });
    await page.getByRole('button', { name: 'Rules', exact: true }).press('Enter');
    await page.getByText('2. How high.').waitFor();
    expect(got.actions.at(-1)).toMatchObject({ kind: 'command', id: 'rules', channel: 'moderators', values: {} });
    got.answer = async () => ({ kind: 'nothing' });
    await page.emulateMedia({ colorScheme: 'dark' });
    await page.setViewportSize({ width: 360, height: 800 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBe(360);
    await shot('moderator-360-dark');
  });

  it('edits a card in place, and keeps the keyboard on what was pressed', async () => {
    const card = (state: string, label: string) =>
      plainMessage(`Juno · squat\n${state}`, { buttons: [{ id: 'take:1', label, style: 'good' }] });
    const ref = await room.post({ channel: 'coaches', message: null }, card('Waits', 'Take'), 'k-1', never);
    await radio('Coach').check();
    got.answer = async () => {
      await room.edit(ref, card('Brannock has it', 'Hand back'), never);
      return { kind: 'private', message: plainMessage('It is yours.') };
    };
    await page.getByRole('button', { name: 'Take', exact: true }).press('Enter');
    await page.getByText('Brannock has it').waitFor();
    await page.getByText('It is yours.').waitFor();
    expect(await page.getByRole('button', { name: 'Take', exact: true }).count()).toBe(0);
    await expect.poll(() => focused()).toBe('Answer for you alone');
    await page.getByRole('button', { name: 'Put away' }).press('Enter');
    expect(await focused(), 'the button is gone, its card has the keyboard').toBe('Answer of quarterview');
    const field = { id: 'why', label: 'Why', required: true, hint: '', kind: 'text', lines: 'one', maxLength: 50 } as const;
    got.answer = async ({ kind }) =>
      kind === 'form' ? { kind: 'nothing' } : { kind: 'form', form: { id: 'why:1', title: 'Why?', fields: [field] } };
    await page.getByRole('button', { name: 'Hand back' }).press('Enter');
    const dialog = page.getByRole('dialog', { name: 'Why?' });
    await expect.poll(() => page.evaluate(() => document.activeElement?.getAttribute('name'))).toBe('why');
    await page.keyboard.type('A long day');
    await page.keyboard.press('Escape');
    await expect.poll(() => focused()).toBe('Hand back');
    await page.keyboard.press('Enter');
    await dialog.waitFor();
    expect(await dialog.getByRole('textbox').inputValue(), 'what was typed and not sent is still there').toBe('A long day');
    await dialog.getByRole('textbox').press('Enter');
    await page.getByText('Done.').waitFor();
    expect(got.actions.at(-1)).toMatchObject({ kind: 'form', id: 'why:1', values: { why: 'A long day' } });
  });

  it('lets members change their own posts and add a clip to them', async () => {
    await page.getByRole('button', { name: 'Try the sample clip' }).click();
    await message('the sample clip').waitFor();
    await page.getByRole('button', { name: 'Change or add a clip' }).click();
    const dialog = page.getByRole('dialog', { name: 'Change your post' });
    await dialog.getByRole('textbox', { name: 'Caption' }).fill('Squat 80 kg x 3');
    await dialog.getByLabel('Add a clip').setInputFiles(clip);
    await shot('change-1200-light');
    await dialog.getByRole('button', { name: 'Save' }).click();
    await message('Squat 80 kg x 3').waitFor();
    await expect.poll(() => message('Squat 80 kg x 3').locator('video').count()).toBe(2);
    expect(got.messages.at(-1)).toMatchObject({ text: 'Squat 80 kg x 3', files: [{}, { name: 'squat.webm' }] });
    await radio('Coach').check();
    await page.getByRole('button', { name: 'Clips', exact: true }).click();
    await message('Squat 80 kg x 3').waitFor();
    expect(await page.getByRole('button', { name: 'Change or add a clip' }).count()).toBe(0);
  });

  it('asks for password, name and own word where the room is shared', async () => {
    await room.stop();
    for (const context of browser.contexts()) await context.close();
    faults = [];
    await startRoom(join(folder, 'data-shared'), 0, { passwords: { member: 'chalk and iron', coach: 'plates and collars' } });
    const context = await browser.newContext({ viewport: { width: 390, height: 844 }, locale: 'en-GB' });
    page = await context.newPage();
    await page.goto(room.address() ?? '');
    const comeIn = async (password: string, name: string) => {
      await page.getByLabel('Password of the room').fill(password);
      await page.getByLabel('Your name').fill(name);
      await page.getByLabel('A word of your own').fill('my own word');
      await page.getByRole('button', { name: 'Come in' }).click();
    };
    await comeIn('chalk', 'Ilse');
    await page.getByRole('alert').getByText('That is no password of this room.').waitFor();
    await shot('door-390-light');
    await comeIn('plates and collars', 'Ilse');
    await page.getByRole('heading', { name: 'Coaches’ list', level: 1 }).waitFor();
    await page.getByText('Ilse, coach').waitFor();
    expect(await page.getByRole('radio').count(), 'nobody chooses a role here').toBe(0);
    await page.getByRole('button', { name: 'Leave' }).click();
    await comeIn('chalk and iron', 'Odo');
    await page.getByRole('heading', { name: 'Clips', level: 1 }).waitFor();
    await page.getByText('Odo, member').waitFor();
    await shot('shared-390-light');
  });

  it('comes back by itself after a restart of the room and shows what it missed', async () => {
    await page.getByRole('button', { name: 'Try the sample clip' }).click();
    await message('the sample clip').waitFor();
    const { ref } = await until('message', () => got.messages[0]);
    const port = Number(new URL(room.address() ?? '').port);
    const data = join(folder, 'data-again');
    execFileSync('cp', ['-r', dataFolder, data]);
    stopped = true;
    await room.stop();
    await page.getByText('Not connected. Trying again…').waitFor();
    await startRoom(data, port);
    await room.post({ channel: 'clips', message: ref }, plainMessage('Measured while you were away.'), 'k-1', never);
    await message('Measured while you were away.').waitFor({ timeout: 15_000 });
    await page.getByText('Live', { exact: true }).waitFor();
    await page.getByRole('button', { name: 'Try the sample clip' }).click();
    await until('posted after', () => got.messages.length > 0);
  });

  it('shows hostile names and captions as text', async () => {
    await page.getByRole('textbox', { name: 'Caption' }).fill('**loud** \u202Eesrever <script>alert(1)</script> '.repeat(3));
    writeFileSync(join(folder, '"><img src=x onerror=alert(1)>.mp4'), 'clip');
    await page.getByLabel('Choose a clip').setInputFiles(join(folder, '"><img src=x onerror=alert(1)>.mp4'));
    await page.getByRole('button', { name: 'Post to the room' }).click();
    await message('esrever').waitFor();
    const text = (await message('esrever').textContent()) ?? '';
    expect(text).toContain('**loud** esrever <script>alert(1)</script>');
    expect(text).not.toContain('\u202E');
    expect(await message('esrever').locator('strong, script, img').count()).toBe(0);
  });
});
