import { expect, it } from 'vitest';
import { whyField } from '../contract-scene.ts';
import { plainMessage } from '../platform-world.ts';
import { clip, never, useSlack } from './use-slack.ts';

const scene = useSlack();

it('what is pressed in a private answer is answered in its thread, so is the form that it opens', async () => {
  await scene.open('http');
  const { world, got } = scene;
  const start = await world.postMember({ text: 'clip', files: [clip()] });
  const button = (id: string) => ({ id, label: id, style: 'plain' as const });
  const said = (text: string, ...ids: string[]) => ({
    kind: 'private' as const,
    message: plainMessage(text, { buttons: ids.map(button) }),
  });
  const carrier = plainMessage('card', { buttons: [button('take:1')] });
  const posted = await world.platform.post({ channel: world.channel, message: start }, carrier, 'k-1', never);
  got.answer = async () => said('Yours.', 'done:1', 'ask:1');
  await world.press(posted, 'take:1');
  got.answer = async () => said('Done.', 'ask:1');
  await world.answer.press('done:1');
  got.answer = async (action) =>
    action.kind === 'form' ? said('Asked.') : { kind: 'form', form: { id: 'ask:1', title: 'Ask', fields: [whyField] } };
  await world.answer.press('ask:1');
  await world.submit('ask:1', { why: 'knees' });
  const threads = world.front.calls.filter(({ method }) => method === 'chat.postEphemeral').map(({ body }) => body.thread_ts);
  expect(threads).toEqual([start.message, start.message, start.message]);
});
