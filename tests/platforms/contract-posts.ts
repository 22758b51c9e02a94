/** What goes out to a platform: posts, edits and their texts; run by contract.ts. */
import { expect, it } from 'vitest';
import type { Platform, PlatformName } from '../../src/platforms/port.ts';
import type { Harness } from './contract.ts';
import { clip, never, type OnWorld, refusal } from './contract-scene.ts';
import { plainMessage, tinyMp4, tinyPng } from './platform-world.ts';

/** Cases, within the suite of a platform. */
export function postCases(name: PlatformName, on: OnWorld, harness: Harness): void {
  it('posts into the thread of a message with picture, alt text, clip, buttons and a choice', async () => {
    const ref = await on.world.postMember({ text: 'clip', files: [clip()] });
    const message = plainMessage('**Film again.** Step to the rear quarter.\nCamera at head height.', {
      files: [
        { path: await on.fileOf('view.png', tinyPng), name: 'view.png', alt: 'Where to stand, from above' },
        { path: await on.fileOf('cut.mp4', tinyMp4), name: 'cut.mp4', alt: null },
      ],
      buttons: [
        { id: 'trim:use:17', label: 'Use the trimmed clip', style: 'good' },
        { id: 'appeal:17', label: 'Send to a coach', style: 'plain' },
      ],
      choices: [
        {
          id: 'view:17',
          label: 'View',
          options: [
            { value: 'rear', label: 'Rear' },
            { value: 'side', label: 'Side' },
          ],
        },
      ],
    });
    const posted = await on.world.platform.post({ channel: on.world.channel, message: ref }, message, 'k-1', never);
    expect(posted).toMatchObject({ platform: name, channel: on.world.channel });
    expect(posted.thread).not.toBeNull();
    const seen = await on.world.seen(on.world.channel);
    expect(seen).toHaveLength(1);
    expect(seen[0]).toMatchObject({
      ref: posted,
      text: message.text,
      buttons: [
        { id: 'trim:use:17', label: 'Use the trimmed clip' },
        { id: 'appeal:17', label: 'Send to a coach' },
      ],
      choices: [{ id: 'view:17', values: ['rear', 'side'] }],
      pings: [],
    });
    expect(seen[0]?.files.map((f) => f.body)).toEqual([tinyPng, tinyMp4]);
    expect(seen[0]?.files.map((f) => f.name)).toEqual(['view.png', 'cut.mp4']);
    if (harness.can.alt) expect(seen[0]?.files[0]?.alt).toBe('Where to stand, from above');
    const next = await on.world.platform.post({ channel: on.world.channel, message: ref }, plainMessage('Second.'), 'k-2', never);
    const inside = await on.world.platform.post(
      { channel: on.world.channel, message: next },
      plainMessage('Third.'),
      'k-3',
      never,
    );
    expect([next.thread, inside.thread]).toEqual([posted.thread, posted.thread]);
  });

  it('posts at channel level', async () => {
    const posted = await on.world.platform.post(
      { channel: on.world.coachChannel, message: null },
      plainMessage('One waits.'),
      'k-1',
      never,
    );
    expect(posted.thread).toBeNull();
    expect((await on.world.seen(on.world.coachChannel)).map((m) => m.ref)).toEqual([posted]);
  });

  it('posts once under one key: again, at the same time, and after a crash', async () => {
    const ref = await on.world.postMember({ text: 'clip', files: [clip()] });
    const targets = [
      { channel: on.world.channel, message: ref },
      { channel: on.world.coachChannel, message: null },
    ];
    for (const [i, to] of targets.entries()) {
      const post = (platform: Platform) => platform.post(to, plainMessage('Only once.'), `answer-${i}`, never);
      const [first, twin] = await Promise.all([post(on.world.platform), post(on.world.platform)]);
      expect(twin).toEqual(first);
      expect(await post(on.world.platform)).toEqual(first);
      expect(await post(await on.world.again())).toEqual(first);
      expect(await on.world.seen(to.channel)).toHaveLength(1);
      const other = await on.world.platform.post(to, plainMessage('Only once.'), `other-${i}`, never);
      expect(other).not.toEqual(first);
    }
  });

  it('shows hostile text as text and pings nobody', async () => {
    const hostile = [
      '@everyone @here <@1> <@!1> <@&2> <#3> <!channel> <!here> <@U1> <!subteam^S1> @channel',
      '*a* _b_ ~c~ ~~d~~ `e` ```f``` ||g|| > h [i](https://example.org) <https://example.org|j> :k: # l',
      '# title',
      '> quote',
      '- list',
      '&amp; &lt;b&gt; <b>bold</b> <script>1</script> \\ \\* a**b',
    ].join('\n');
    await on.world.platform.post({ channel: on.world.channel, message: null }, plainMessage(hostile), 'k-1', never);
    await on.world.platform.post(
      { channel: on.world.channel, message: null },
      plainMessage('a\u202Eb\u2066c\u0007d\u200Fe'),
      'k-2',
      never,
    );
    const seen = await on.world.seen(on.world.channel);
    expect(seen.map((m) => m.pings)).toEqual([[], []]);
    expect(seen.map((m) => m.text)).toEqual([hostile, 'abcde']);
  });

  it('mentions the given group and nobody else', async () => {
    const message = plainMessage('@everyone <@1> a clip waits', { mention: on.world.mention });
    await on.world.platform.post({ channel: on.world.coachChannel, message: null }, message, 'k-1', never);
    expect((await on.world.seen(on.world.coachChannel))[0]?.pings).toEqual([on.world.mention]);
  });

  it('keeps every line of a long text, once and in order', async () => {
    const ref = await on.world.postMember({ text: 'clip', files: [clip()] });
    const lines = Array.from({ length: 90 }, (_, i) => `${i}. *${'word '.repeat(10)}*`.trim());
    const post = () =>
      on.world.platform.post({ channel: on.world.channel, message: ref }, plainMessage(lines.join('\n')), 'k-1', never);
    const posted = await post();
    expect(await post()).toEqual(posted);
    const shown = (await on.world.seen(on.world.channel)).map((m) => m.text).join('\n');
    expect(shown.split('\n')).toEqual(lines);
  });

  it('edits and removes what it posted; removing twice is harmless', async () => {
    const button = { id: 'take:1', label: 'Take', style: 'plain' as const };
    const posted = await on.world.platform.post(
      { channel: on.world.channel, message: null },
      plainMessage('2nd in line', { buttons: [button] }),
      'k-1',
      never,
    );
    await on.world.platform.edit(posted, plainMessage('being measured'), never);
    expect(await on.world.seen(on.world.channel)).toMatchObject([{ ref: posted, text: 'being measured', buttons: [] }]);
    const card = await on.world.platform.post(
      { channel: on.world.coachChannel, message: null },
      plainMessage('card', {
        files: [{ path: await on.fileOf('reps.png', tinyPng), name: 'reps.png', alt: 'Reps' }],
        buttons: [button],
        mention: on.world.mention,
      }),
      'k-2',
      never,
    );
    await on.world.platform.edit(card, plainMessage('card, taken', { buttons: [{ ...button, id: 'done:1' }] }), never);
    const [edited] = await on.world.seen(on.world.coachChannel);
    expect(edited).toMatchObject({ ref: card, text: 'card, taken', buttons: [{ id: 'done:1' }], pings: [] });
    expect(edited?.files.map((f) => [f.name, f.body])).toEqual([['reps.png', tinyPng]]);
    await on.world.platform.remove(posted, never);
    await on.world.platform.remove(posted, never);
    expect(await on.world.seen(on.world.channel)).toEqual([]);
    expect(await refusal(on.world.platform.edit(posted, plainMessage('late'), never))).toMatchObject({
      code: 'gone',
      retry: { final: true },
    });
  });
}
