import { describe, expect, it } from 'vitest';
import { createLog } from '../../src/logging/log.ts';
import { readEnvironment, secretsOf } from '../../src/settings/environment.ts';

function logged(format: 'json' | 'plain', secrets: readonly string[], work: (log: ReturnType<typeof createLog>) => void) {
  const lines: string[] = [];
  work(createLog({ level: 'trace', format, secrets, write: (line) => void lines.push(line) }));
  return lines;
}

describe('the log', () => {
  it('keeps captions and tokens out, at any depth and under any of their names', () => {
    const lines = logged('json', [], (log) => {
      log.info({ id: 'a', caption: 'zebra', message: { text: 'zebra' }, act: { payload: { text: 'zebra' } } }, 'one');
      log.child({ platform: 'slack' }).warn({ token: 'zebra', headers: { authorization: 'zebra', cookie: 'zebra' } }, 'two');
    });
    expect(lines.join('')).not.toContain('zebra');
    expect(lines.map((line) => JSON.parse(line))).toMatchObject([
      { level: 'info', id: 'a', msg: 'one' },
      { level: 'warn', platform: 'slack', msg: 'two' },
    ]);
  });

  it('blots out secrets inside of texts, also where JSON writes them in another way', () => {
    const environment = readEnvironment({
      DISCORD_TOKEN: 'MTk4.Cl2FMQ.token',
      DATABASE_URL: 'postgres://bot:p%40ss"word@db/x',
      ROOM_PASSWORD: 'say "friend"',
    });
    const secrets = secretsOf(environment);
    const said = 'refused MTk4.Cl2FMQ.token for p@ss"word at postgres://bot:p%40ss"word@db/x by say "friend"';
    for (const format of ['json', 'plain'] as const) {
      const [line = ''] = logged(format, secrets, (log) => log.error({ error: said }, said));
      expect(line).toContain('refused [hidden] for [hidden] at [hidden] by [hidden]');
      expect(line).not.toMatch(/MTk4|p@ss|p%40|friend/);
    }
  });

  it('lets no text begin a line of its own, steer a terminal or turn the reading direction', () => {
    const hostile = 'gone\n12:00:00 error forged\r\u001b[2J\u202eend';
    const [plain = ''] = logged('plain', [], (log) => log.warn({ error: hostile }, 'a clip could not be fetched'));
    expect(plain.trimEnd().split('\n')).toHaveLength(1);
    expect(plain).toContain('gone\\u000a12:00:00 error forged\\u000d\\u001b[2J\\u202eend');
    const [json = ''] = logged('json', [], (log) => log.warn({ error: hostile }, 'a clip could not be fetched'));
    expect(json.trimEnd()).not.toMatch(/[\u0000-\u001f]/);
    expect(JSON.parse(json).error).toBe(hostile);
  });

  it('writes a line for people', () => {
    const [line] = logged('plain', [], (log) => log.warn({ id: 'a', attempts: 2 }, 'an act is tried again'));
    expect(line).toMatch(/^\d\d:\d\d:\d\d warn {2}an act is tried again \(id: a, attempts: 2\)\n$/);
  });
});
