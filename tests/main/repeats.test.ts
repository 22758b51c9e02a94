import { expect, it } from 'vitest';
import { withoutRepeats } from '../../src/main/repeats.ts';

function written() {
  const lines: string[] = [];
  const write = (level: string) => (details: object, text: string) =>
    void lines.push(`${level} ${text} ${JSON.stringify(details)}`);
  const clock = { nowMs: 5_000_000 };
  const log = withoutRepeats({ info: write('info'), warn: write('warn'), error: write('error') }, 1000, () => clock.nowMs);
  return { lines, clock, log };
}

it('writes the same trouble of many clips once, and counts what it held back', () => {
  const { lines, clock, log } = written();
  for (let i = 0; i < 40; i += 1)
    log.warn(
      { id: `clip-${i}`, error: `Error: ENOSPC: no space left on device, open '/spool/clip-${i}'`, attempts: i },
      'not fetched',
    );
  expect(lines).toHaveLength(1);
  clock.nowMs += 999;
  log.warn({ id: 'a', error: "Error: ENOSPC: no space left on device, open '/spool/a'" }, 'not fetched');
  expect(lines).toHaveLength(1);
  clock.nowMs += 1;
  log.warn({ id: 'b', error: "Error: ENOSPC: no space left on device, open '/spool/b'" }, 'not fetched');
  expect(lines).toHaveLength(2);
  expect(lines[1]).toContain('"again":40');
});

it('keeps other trouble, other platforms, what was given up on and what is no trouble', () => {
  const { lines, log } = written();
  for (let i = 0; i < 3; i += 1) {
    log.warn({ error: 'Error: EACCES: permission denied' }, 'not fetched');
    log.warn({ error: 'Error: ENOSPC: no space left on device' }, 'not fetched');
    log.warn({ error: 'Error: EACCES: permission denied', platform: 'slack' }, 'not fetched');
    log.error({ error: 'Unknown Channel', act: `reply/${i}`, final: true }, 'an act cannot be done');
    log.info({ id: i }, 'a clip was judged');
  }
  expect(lines.filter((line) => line.startsWith('warn'))).toHaveLength(3);
  expect(lines.filter((line) => line.startsWith('error'))).toHaveLength(3);
  expect(lines.filter((line) => line.startsWith('info'))).toHaveLength(3);
});

it('writes again after the clock was set back', () => {
  const { lines, clock, log } = written();
  log.warn({ error: 'x' }, 'trouble');
  clock.nowMs -= 3_600_000;
  log.warn({ error: 'x' }, 'trouble');
  expect(lines).toHaveLength(2);
});
