import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { DiscordOptions } from '../../../src/platforms/discord/options.ts';
import { invitePermissions } from '../../../src/platforms/discord/preflight.ts';
import type { Form } from '../../../src/platforms/port.ts';
import { plainMessage, type recordEvents, tinyPng, until } from '../platform-world.ts';
import { button, useDiscord } from './use-discord.ts';

const scene = useDiscord();
const { adapter, started, post } = scene;

describe('actions on Discord', () => {
  const form: Form = {
    id: 'f',
    title: 'A title that is much longer than the forty-five characters of Discord',
    fields: [{ id: 'note', label: 'Note', required: true, hint: '', kind: 'text', lines: 'one', maxLength: 9000 }],
  };
  const pressed = async (answer: ReturnType<typeof recordEvents>['answer']) => {
    const { platform, got } = await started();
    got.answer = answer;
    const card = await post(platform, plainMessage('card', { buttons: [button] }), 'k-1');
    return scene.fake.interact(
      3,
      '801',
      { component_type: 2, custom_id: 'take:1', id: 2 },
      scene.fake.state.messages.get(card.message),
    );
  };
  const slowly = <T>(value: T) => new Promise<T>((resolve) => setTimeout(resolve, 300, value));

  it('says so when a form comes too late to be opened', async () => {
    expect(await pressed(() => slowly({ kind: 'form', form }))).toEqual({
      kind: 'private',
      text: 'That took too long. Please press again.',
    });
  });

  it('clears the wait when nothing is to be said late', async () => {
    expect(await pressed(() => slowly({ kind: 'nothing' }))).toEqual({ kind: 'nothing' });
  });

  it('cuts a title to what Discord takes, and says that it failed where a form has too many fields', async () => {
    expect(await pressed(async () => ({ kind: 'form', form }))).toMatchObject({
      kind: 'form',
      title: 'A title that is much longer than the forty-f…',
    });
    const six = { ...form, fields: Array.from({ length: 6 }, (_, i) => ({ ...form.fields[0]!, id: `n${i}` })) };
    const { got } = await started();
    got.answer = async () => ({ kind: 'form', form: six });
    scene.adapters.shift()?.stop();
    await until('first adapter gone', () => [...scene.fake.gateway.sessions.values()].filter((s) => s.socket).length === 1);
    expect(await scene.fake.interact(2, '801', { id: '1', name: 'film', type: 1 })).toEqual({
      kind: 'private',
      text: 'That did not work just now. Please try again in a minute.',
    });
  });

  it('answers privately with long texts, a picture and buttons', async () => {
    await writeFile(join(scene.folder, 'a.png'), tinyPng);
    const text = Array.from({ length: 60 }, (_, i) => `${i} ${'word '.repeat(12)}`.trim()).join('\n');
    const message = plainMessage(text, {
      files: [{ path: join(scene.folder, 'a.png'), name: 'a.png', alt: 'From above' }],
      buttons: [button],
      mention: '602',
    });
    expect(await pressed(async () => ({ kind: 'private', message }))).toEqual({ kind: 'private', text });
    const [it] = scene.fake.state.interactions.values();
    expect(it?.bodies.map((body) => (body.components as unknown[]).length)).toEqual([0, 1]);
    expect(it?.bodies.flatMap((body) => (body.allowed_mentions as { roles: string[] }).roles)).toEqual([]);
    expect([...scene.fake.state.messages.values()]).toHaveLength(1);
  });

  it('registers commands in the servers of its channels, required fields first, names as Discord wants them', async () => {
    const field = (id: string, required: boolean) => ({ id, label: `The ${id}`, required, options: null });
    const { got } = await started([
      { name: 'ask-view', description: 'Ask for a view', fields: [field('note', false), field('liftName', true)] },
    ]);
    expect(scene.fake.state.commands).toMatchObject([
      {
        name: 'ask-view',
        options: [
          { name: 'liftname', required: true },
          { name: 'note', required: false },
        ],
      },
    ]);
    await scene.fake.interact(2, '801', {
      id: '1',
      name: 'ask-view',
      type: 1,
      options: [{ type: 3, name: 'liftname', value: 'squat' }],
    });
    expect(got.actions[0]?.values).toEqual({ liftName: 'squat' });
  });

  it('refuses a command name that Discord would not take', async () => {
    await expect(started([{ name: 'Ask View', description: 'x', fields: [] }])).rejects.toMatchObject({ code: 'refused' });
  });
});

describe('preflight of Discord', () => {
  const rows = async (more: Partial<DiscordOptions> = {}) => (await adapter(more).preflight()).filter((row) => !row.ok);

  it('finds the missing intent', async () => {
    scene.fake.state.app.flags = 0;
    expect(await rows()).toMatchObject([
      { what: 'Discord: message content intent', fix: expect.stringContaining('Message Content Intent') },
    ]);
  });

  it('takes the intent of an unverified bot too', async () => {
    scene.fake.state.app.flags = 1 << 18;
    expect(await rows()).toEqual([]);
  });

  it.each([
    ['for everyone', { id: '700', type: 0 as const }],
    ['for its role', { id: '601', type: 0 as const }],
    ['for itself', { id: '900', type: 1 as const }],
  ])('names permissions that a channel denies %s', async (_whom, who) => {
    const channel = scene.fake.channel('801') as { permission_overwrites: unknown[] };
    // 6 add reactions, 35 create public threads.
    channel.permission_overwrites = [{ ...who, allow: '0', deny: String((1n << 6n) | (1n << 35n)) }];
    expect(await rows()).toMatchObject([
      {
        what: 'Discord: watched channel #lifts',
        found: 'missing: Create Public Threads, Add Reactions',
        fix: expect.stringContaining('Add Reactions'),
      },
    ]);
    channel.permission_overwrites.push({ id: '900', type: 1, allow: String((1n << 6n) | (1n << 35n)), deny: '0' });
    if (who.id !== '900') expect(await rows()).toEqual([]);
  });

  it('lets an administrator do all', async () => {
    scene.fake.state.roles[1]!.permissions = String(1n << 3n);
    expect(await rows()).toEqual([]);
  });

  it('names a channel that is not there, no channel at all, and a refused token', async () => {
    expect(await rows({ channels: ['4711'] })).toMatchObject([
      { what: 'Discord: watched channel 4711', fix: expect.stringContaining('Invite the bot') },
    ]);
    expect(await rows({ channels: [] })).toMatchObject([{ what: 'Discord: watched channels' }]);
    expect(await rows({ token: 'MTAx.wrong.token' })).toMatchObject([
      { what: 'Discord: token', fix: expect.stringContaining('Reset Token') },
    ]);
  });

  it("looks at the moderators' channel, where words alone are posted", async () => {
    const moderators = { moderatorChannel: '803' };
    const named = async (more: Partial<DiscordOptions>) => (await adapter(more).preflight()).map(({ what }) => what).slice(2);
    const others = ['Discord: watched channel #lifts', "Discord: coaches' channel #coaches"];
    expect(await named(moderators)).toEqual([...others, "Discord: moderators' channel #talk"]);
    for (const one of ['801', '802']) expect(await named({ moderatorChannel: one })).toEqual(others);
    expect(await rows(moderators)).toEqual([]);
    const channel = scene.fake.channel('803') as { permission_overwrites: unknown[] };
    // 35 create public threads, 11 send messages.
    channel.permission_overwrites = [{ id: '601', type: 0, allow: '0', deny: String(1n << 35n) }];
    expect(await rows(moderators)).toEqual([]);
    channel.permission_overwrites = [{ id: '601', type: 0, allow: '0', deny: String((1n << 35n) | (1n << 11n)) }];
    expect(await rows(moderators)).toMatchObject([
      { what: "Discord: moderators' channel #talk", found: 'missing: Send Messages', fix: expect.stringContaining('#talk') },
    ]);
    expect(await rows({ moderatorChannel: '4711' })).toMatchObject([{ what: "Discord: moderators' channel 4711" }]);
  });

  it('agrees with the numbers in deploy/discord.md', async () => {
    const text = await readFile(new URL('../../../deploy/discord.md', import.meta.url), 'utf8');
    // Bits by Discord's permission table (Discord docs, permissions, bitwise permission flags).
    const bits = {
      view: 10n,
      history: 16n,
      send: 11n,
      sendInThreads: 38n,
      createThreads: 35n,
      react: 6n,
      attach: 15n,
      embed: 14n,
    };
    const sum = Object.values(bits).reduce((all, bit) => all | (1n << bit), 0n);
    expect(invitePermissions).toBe(sum);
    expect(text.match(/permissions=(\d+)/)?.[1]).toBe(String(sum));
    expect(text).toContain(`\`${sum}\``);
    for (const label of [
      'View Channels',
      'Read Message History',
      'Send Messages',
      'Create Public Threads',
      'Send Messages in Threads',
      'Add Reactions',
      'Attach Files',
      'Embed Links',
    ]) {
      expect(text).toContain(label);
    }
  });
});
