import type { ClipState } from './protocol.ts';
import type { Schedule } from './schedule.ts';
import type { World } from './world.ts';

/** What a run came to; both lists empty: every posted clip was answered exactly once. */
export interface Proof {
  clips: number;
  lost: string[];
  doubled: string[];
  /** Clips given up because their measuring was killed again and again; they are answered with a sentence that says so. */
  setAside: number;
}

/**
 * Looks at what stands on the platform. For each posted clip one reply, for each that is clean or unsure one coach's card, on each message
 * the marks of its clips, and no progress message left. `measuringDeaths`: with two or more a clip may have been set aside.
 */
export function prove(schedule: Schedule, world: World, states: readonly ClipState[], measuringDeaths: number): Proof {
  const proof: Proof = { clips: 0, lost: [], doubled: [], setAside: 0 };
  const standing = world.posts.filter((post) => !post.removed);
  const known = new Set<string>();
  let cards = 0;
  const outcomeOf = schedule.messages.map((message, m) =>
    message.clips.map((clip, c) => {
      const ref = world.messages[m]?.ref;
      const file = world.messages[m]?.files[c];
      const state = states.find(({ id }) => id.endsWith(`-${file?.id}`));
      const gaveUp = measuringDeaths >= 2 && state?.errorCode === 'worker-died';
      if (gaveUp) proof.setAside += 1;
      const expected = gaveUp || clip.outcome === 'bad' ? 'failed' : clip.outcome;
      const text = expected !== 'failed' ? `reply ${expected}` : gaveUp ? 'error worker-died' : 'error clip-not-video';
      proof.clips += 1;
      const where = `clip ${c + 1} of message ${m + 1}`;
      const replies = standing.filter(({ key }) => key === `reply/${state?.id}`);
      for (const post of standing.filter(({ key }) => key === `reply/${state?.id}` || key === `coach/${state?.id}`))
        known.add(post.key);
      if (state?.state !== 'answered') proof.lost.push(`${where}: ${state?.state ?? 'never received'}`);
      else if (!replies.some((post) => post.message.text.startsWith(text) && post.to.message?.message === ref?.message))
        proof.lost.push(`${where}: no reply "${text}"`);
      const own = standing.filter(({ key }) => key === `coach/${state?.id}`).length;
      const passes = expected === 'clean' || expected === 'unsure';
      cards += passes ? 1 : 0;
      if (passes && own === 0) proof.lost.push(`${where}: no coach's card`);
      if (!passes && own > 0) proof.doubled.push(`${where}: a coach's card of a clip that is ${expected}`);
      return expected;
    }),
  );
  for (const [m, message] of schedule.messages.entries()) {
    const ref = world.messages[m]?.ref;
    const under = standing.filter(({ to }) => to.message?.message === ref?.message);
    if (under.length > message.clips.length)
      proof.doubled.push(
        `message ${m + 1}: ${under.length} replies to ${message.clips.length} clips: ${under.map(({ key }) => key).join(' ')}`,
      );
    const take = schedule.messages.findIndex(({ reply }) => reply === m);
    const newer = outcomeOf[take]?.[0];
    const now = [...(world.marks.get(ref?.message ?? '') ?? [])].sort().join();
    const own = [...new Set(outcomeOf[m])].sort().join();
    // Whether a take that was told before the clip it belongs to counts as its take is left open.
    const may = newer === undefined || newer === 'failed' ? [own] : [own, newer];
    if (!may.includes(now)) proof.lost.push(`message ${m + 1}: marks ${now || 'none'} instead of ${may.join(' or ')}`);
  }
  const inCoaches = standing.filter(({ to }) => to.message === null);
  if (inCoaches.length > cards) proof.doubled.push(`${inCoaches.length} cards for ${cards} clips`);
  for (const { key } of standing) if (!known.has(key)) proof.doubled.push(`a post that no clip asked for: ${key}`);
  return proof;
}
