/** Ends, gaps and faults of a platform; run by contract.ts. */
import { expect, it } from 'vitest';
import { PlatformError } from '../../src/platforms/port.ts';
import type { Harness } from './contract.ts';
import { clip, never, type OnWorld } from './contract-scene.ts';
import { plainMessage, until } from './platform-world.ts';

/** Cases, within the suite of a platform. */
export function faultCases(on: OnWorld, harness: Harness): void {
  it('stops at once when told to and delivers nothing afterwards', async () => {
    await on.world.platform.stop();
    await on.world.postMember({ text: 'late', files: [clip()] }).catch(() => undefined);
    expect(on.got.messages.filter((m) => m.text === 'late')).toEqual([]);
  });

  it('gives up a wait when the signal aborts', async () => {
    const aborted = AbortSignal.abort();
    await expect(
      on.world.platform.post({ channel: on.world.channel, message: null }, plainMessage('no'), 'k-1', aborted),
    ).rejects.toThrow();
    expect(await on.world.seen(on.world.channel)).toEqual([]);
  });

  it('finds nothing wrong in its preflight when all is well', async () => {
    const rows = await on.world.platform.preflight();
    expect(rows.length).toBeGreaterThan(0);
    expect(rows.filter((row) => !row.ok)).toEqual([]);
    for (const row of rows) expect(row).toMatchObject({ what: expect.stringMatching(/\S/), found: expect.stringMatching(/\S/) });
  });

  it.runIf(harness.can.gap)('asks for a backfill after a gap and finds what was missed', async () => {
    const before = await on.world.postMember({ text: 'before', files: [clip()] });
    await until('before', () => on.got.messages.length > 0);
    const gaps = await until('gap at start', () => on.got.gaps);
    await on.world.gap(async () => void (await on.world.postMember({ text: 'missed', files: [clip()] })));
    await until('gap', () => on.got.gaps > gaps);
    const found = await on.world.platform.history(on.world.channel, before.message, 50, never);
    expect(found.map((m) => m.text)).toEqual(['missed']);
    await on.world.postMember({ text: 'live again', files: [clip()] });
    await until('live again', () => on.got.messages.some((m) => m.text === 'live again'));
  });

  for (const kind of ['rate-limited', 'unavailable', 'answer-lost'] as const) {
    it.runIf(harness.can.faults)(`posts once when the platform is ${kind}`, async () => {
      const ref = await on.world.postMember({ text: 'clip', files: [clip()] });
      const post = () =>
        on.world.platform.post({ channel: on.world.channel, message: ref }, plainMessage('Only once.'), 'k-1', never);
      await on.world.fault(kind);
      const posted = await post().catch((error: unknown) => {
        if (!(error instanceof PlatformError) || error.retry.final) throw error;
        return post();
      });
      expect((await on.world.seen(on.world.channel)).map((m) => m.ref)).toEqual([posted]);
    });
  }
}
