/** A bot's scene. Importing this opens one before each test of the file and closes it after. */
import { afterEach, beforeEach } from 'vitest';
import { createScene, until } from './setup.ts';

/** The scene of the test that runs. */
export let scene: Awaited<ReturnType<typeof createScene>>;
beforeEach(async () => {
  scene = await createScene();
});
afterEach(() => scene.close());

/** Waits until so many clips are answered, or cannot be. */
export const ended = async (n: number) =>
  until(async () => (await scene.ledger.inState(['answered', 'undeliverable'])).length === n);
export const texts = (posts: { message: { text: string } }[]) => posts.map((post) => post.message.text);
