import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { BotDeps } from '../../src/bot/deps.ts';
import { createDesk } from '../../src/bot/desk/desk.ts';
import { useCases } from '../../src/bot/desk/index.ts';
import { privately, type UseCase, type Who } from '../../src/bot/desk/use-case.ts';
import { openLedger } from '../../src/ledger/open.ts';
import type { Ledger } from '../../src/ledger/port.ts';
import type { Action } from '../../src/platforms/port.ts';

const people = {
  member: { id: 'juno', groups: ['member'] },
  coach: { id: 'ilse', groups: ['coach'] },
  'coach by their own id': { id: 'brannock', groups: [] },
  moderator: { id: 'wren', groups: ['moderator'] },
};

function press(id: string, by: keyof typeof people, more: Partial<Action> = {}): Action {
  const person = { platform: 'room' as const, name: people[by].id, isBot: false, ...people[by] };
  return { kind: 'button', id, pressId: `press ${id} ${by}`, person, where: null, channel: 'clips', values: {}, ...more };
}

describe('desk', () => {
  let ledger: Ledger;
  let ran: string[];
  let may: Record<string, Who>;
  const warned: string[] = [];
  const made = (who: Who): UseCase => ({
    id: `for-${who}`,
    who,
    command: { name: `say-${who}`, description: '', fields: [] },
    async run({ args, person }) {
      ran.push(`${person.id} ${args.join('+')}`);
      return privately(`done ${who}`);
    },
  });
  const broken: UseCase = { id: 'broken', who: 'anyone', run: () => Promise.reject(new Error('no disk')) };
  const desk = () => {
    const deps = {
      ledger,
      language: 'en',
      nowMs: () => 5,
      log: { info() {}, warn: (_: object, text: string) => void warned.push(text), error() {} },
      settings: () => ({ may, people: { room: { coaches: ['coach', 'brannock'], moderators: ['moderator'] } } }),
    };
    return createDesk([made('anyone'), made('coach'), made('moderator'), broken], deps as unknown as BotDeps, () => {});
  };
  const textOf = (reply: Awaited<ReturnType<ReturnType<typeof desk>['onAction']>>) =>
    reply.kind === 'private' ? reply.message.text : reply.kind;
  beforeEach(async () => {
    ledger = await openLedger({ file: ':memory:' });
    ran = [];
    may = {};
  });
  afterEach(() => ledger.close());

  it.each([
    ['member', 'anyone', true],
    ['member', 'coach', false],
    ['member', 'moderator', false],
    ['coach', 'anyone', true],
    ['coach', 'coach', true],
    ['coach', 'moderator', false],
    ['coach by their own id', 'coach', true],
    ['coach by their own id', 'moderator', false],
    ['moderator', 'coach', true],
    ['moderator', 'moderator', true],
  ] as const)('%s at what %s may do: %s', async (by, who, allowed) => {
    const reply = await desk().onAction(press(`for-${who}:clip-1`, by));
    expect(ran).toHaveLength(allowed ? 1 : 0);
    expect(textOf(reply)).toBe(allowed ? `done ${who}` : textOf(reply));
    if (!allowed) expect(textOf(reply)).toMatch(/^Only (coaches|moderators)/);
    const audit = await ledger.audit.last(10);
    expect(audit).toEqual(
      who === 'anyone'
        ? []
        : [expect.objectContaining({ act: `for-${who}`, subject: 'clip-1', allowed, personId: people[by].id })],
    );
  });

  it('goes by what settings allow, each time anew', async () => {
    const one = desk();
    may = { 'for-coach': 'moderator' };
    expect(textOf(await one.onAction(press('for-coach', 'coach')))).toMatch(/^Only moderators/);
    may = {};
    expect(textOf(await one.onAction(press('for-coach', 'coach', { pressId: 'later' })))).toBe('done coach');
  });

  it('does a press that is delivered twice once, and answers alike', async () => {
    const one = desk();
    const replies = await Promise.all([1, 2, 3].map(() => one.onAction(press('for-anyone:a:b', 'member'))));
    expect(ran).toEqual(['juno a+b']);
    expect(replies.map(textOf)).toEqual(['done anyone', 'done anyone', 'done anyone']);
  });

  it('finds commands by their names and says of what it does not know that it does not', async () => {
    const one = desk();
    expect(one.commands.map(({ name }) => name)).toEqual(['say-anyone', 'say-coach', 'say-moderator']);
    expect(textOf(await one.onAction(press('say-coach', 'coach', { kind: 'command' })))).toBe('done coach');
    expect(textOf(await one.onAction(press('say-coach', 'coach', { pressId: 'a button' })))).toMatch(/another version/);
  });

  it('says that something went wrong and does it when it is tried again', async () => {
    const one = desk();
    expect(textOf(await one.onAction(press('broken', 'member')))).toMatch(/went wrong/);
  });
});

describe('use cases', () => {
  it('have ids that fit into buttons, and commands that every platform takes', () => {
    const ids = useCases.map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
    for (const id of ids) expect(id).toMatch(/^[a-z-]{2,20}$/);
    for (const { command } of useCases) {
      if (command === undefined) continue;
      expect(command.name).toMatch(/^[a-z][a-z-]{1,31}$/);
      expect(command.description.length).toBeLessThanOrEqual(100); // Discord's limit
      for (const { options } of command.fields) expect(options?.length ?? 0).toBeLessThanOrEqual(25);
    }
  });
});
