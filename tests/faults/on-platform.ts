import { afterEach } from 'vitest';
import type { BotSettings } from '../../src/bot/deps.ts';
import type { Platform } from '../../src/platforms/port.ts';
import { createScene, until } from '../bot/setup.ts';

/** What a test of this file opened is closed after it, the last first. */
export function closeAfterEach() {
  const after: (() => unknown)[] = [];
  afterEach(async () => {
    for (const undo of after.splice(0).reverse()) await undo();
  });
  return (undo: () => unknown) => void after.push(undo);
}

/** A bot on real adapters in place of the stand-in for a platform; `change` names the channels. Its clock runs. */
export async function sceneOn(
  later: ReturnType<typeof closeAfterEach>,
  change: Partial<BotSettings>,
  more: Parameters<typeof createScene>[1] = {},
) {
  const elsewhere = { coachChannel: {}, coachMention: {}, moderatorChannel: {} };
  const scene = await createScene({ retryAfterMs: 20, ...elsewhere, ...change }, more);
  later(scene.close);
  const timer = setInterval(() => {
    scene.clock.nowMs += 20;
  }, 20);
  later(() => clearInterval(timer));
  return {
    ...scene,
    start: (platform: Platform) => scene.startBot({ ledger: (ledger) => ledger, platform: () => platform }),
    answered: (n: number) => until(async () => (await scene.ledger.inState(['answered'])).length === n),
    /** Lines of the operator's log with this text. */
    lines: (text: string) => scene.operator.filter((line) => line.includes(text)),
  };
}

/** A clip as members post it; the stand-in for measuring reads `body`. */
export const clipOf = (body: string) => ({ name: 'squat.mp4', contentType: 'video/mp4', body: Buffer.from(body) });
