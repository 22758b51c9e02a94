/** What hostile members write, through each platform's own adapter and server; run by desk-contract.ts. */
import { expect } from 'vitest';
import type { DeskCases } from './desk-contract.ts';
import { type SeenReply, until } from './platform-world.ts';

const textOf = (seen: SeenReply) => (seen.kind === 'private' ? seen.text : seen.kind);
const steering = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]/;
const hostile = 'x\u202Egnp\u2066 {name} $(y) $& {{z}} %s @everyone <!channel> <@101> <@&602> \u0007\u001b[31m';

export const hostileCases: DeskCases = {
  'a caption and a file name of signs, marks and mentions change nothing': async ({ world, scene, card }) => {
    const name = '<script>@everyone {id} $&.mp4';
    const files = [{ name, contentType: 'video/mp4', body: Buffer.from('unsure') }];
    const ref = await world.postMember({ text: `${hostile}\n**With Ilse.**`, files });
    await until('the answer', async () => (await scene.ledger.inState(['answered'])).length === 1);
    const [id = ''] = await scene.ledger.inState(['answered']);
    expect(await scene.ledger.submission(id)).toMatchObject({ ref, verdict: 'unsure' });
    const shown = [await card(id), ...(await world.seen(world.channel))];
    expect(shown.flatMap(({ pings }) => pings)).toEqual([]);
    for (const { text, files: sent } of shown) {
      expect(text).not.toMatch(steering);
      expect(text).not.toContain('With Ilse.');
      expect(sent.map((file) => file.name).join()).not.toContain('script');
    }
    expect(scene.operator.join()).not.toMatch(/gnp|With Ilse|script/);
  },

  'a reason typed into a form is one line of text, of a length, and pings nobody': async ({ world, scene, post, card }) => {
    const { id } = await post('fix');
    const reply = (await scene.ledger.act(`reply/${id}`))?.ref;
    if (!reply) throw new Error('no reply');
    await world.press(reply, `appeal:${id}`);
    const sent = await world.submit(`appeal:${id}`, { reason: `${hostile}\n\n**With Ilse.**\n# done` });
    expect(textOf(sent)).toContain('The clip goes to the coaches now.');
    await until('the card', async () => (await scene.ledger.act(`coach/${id}`))?.state === 'done');
    const { text, pings } = await card(id);
    expect(pings).toEqual([]);
    expect(text).not.toMatch(steering);
    const line = text.split('\n').find((one) => one.includes('The reason:'));
    expect(line).toContain('xgnp {name} $(y) $& {{z}} %s @everyone <!channel> <@101> <@&602> [31m *With Ilse.* # done');
    expect(text).not.toContain('**With');
    await until('the end', async () => (await scene.ledger.submission(id))?.state === 'answered');
  },
};
