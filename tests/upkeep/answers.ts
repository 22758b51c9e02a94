import { expect } from 'vitest';
import type { SubmissionState } from '../../src/ledger/port.ts';
import { type createScene, until } from '../bot/setup.ts';
import { type sayAll, states } from './stored-ledger.ts';

type Scene = Awaited<ReturnType<typeof createScene>>;

/** Lets the bot go on with a stored ledger and holds what it says to what each clip should get, once. */
export async function expectAnswers(scene: Scene, said: Awaited<ReturnType<typeof sayAll>>): Promise<void> {
  await until(async () => {
    scene.measuring.release();
    return (await scene.ledger.inState(['answered', 'undeliverable'])).length === states.length;
  });
  const texts = (state: SubmissionState) => scene.world.replies(said.get(state)!.ref).map((post) => post.message.text);
  expect(Object.fromEntries(states.map((state) => [state, texts(state)]))).toEqual({
    received: ['reply clean first'],
    spooled: ['reply fix first'],
    queued: ['reply clean first'],
    measuring: ['reply clean first'],
    judged: ['reply clean first trimmed'],
    failed: ['error clip-not-video'],
    'set-aside': ['error worker-died'],
    answering: ['reply fix first'],
    answered: ['reply clean first'],
    undeliverable: [],
  });
  const cards = scene.world.inChannel('coaches').map((post) => post.message.text.replace(/ from[\s\S]*/, ''));
  const sent = ['answered', 'judged', 'measuring', 'queued', 'received'];
  expect(cards.sort()).toEqual(sent.map((state) => `card clean by-${state}`));
  expect(scene.errors).toEqual([]);
}
