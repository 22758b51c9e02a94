import type { ClipText, Death } from './protocol.ts';
import type { Random } from './random.ts';

/** How the event of a message reaches the bot. `late` ones come until somebody listens, as Slack's do. */
export type Delivery = { kind: 'once' } | { kind: 'twice'; afterMs: number } | { kind: 'late'; afterMs: number };

export interface PlannedMessage {
  atMs: number;
  by: string;
  clips: ClipText[];
  /** Index of the message in whose thread it stands, null at channel level. */
  reply: number | null;
  delivery: Delivery;
}

/** A kill of something outside the bot's own calls: after the platform was asked `afterCalls` times and `delayMs` more. */
export interface PlannedKill {
  what: 'bot' | 'measuring' | 'host' | 'redis' | 'redis-emptied';
  afterCalls: number;
  delayMs: number;
  /** Until it is started again. */
  downMs: number;
}

export interface Schedule {
  messages: PlannedMessage[];
  /** No events between, then the word of a gap. */
  outages: { fromMs: number; toMs: number }[];
  /** One for each life of the bot that ends by itself. */
  deaths: Death[];
  kills: PlannedKill[];
  /** Share of calls that fail, and how many at most. */
  faultShare: number;
  mostFaults: number;
  /** With Redis: workers fetch clips from the bot, or find them in its folder. */
  byAddress: boolean;
  progressAfterS: number;
}

/** Steps that write something or reach out; the others are met by their number alone. */
const steps = [
  ...['receive', 'move', 'plan', 'beginAct', 'endAct', 'postponeAct', 'cursor', 'setCursor', 'submission', 'inLane'].map(
    (name) => `ledger.${name}`,
  ),
  ...['jobs.add', 'jobs.change', 'jobs.remove', 'jobs.all', 'queue.start', 'queue.enqueue'],
  ...['start', 'history', 'fetchFile', 'setMarks', 'post', 'edit', 'remove'].map((name) => `platform.${name}`),
];

const members = ['juno', 'tamsin', 'odo', 'pell'];

/** What goes wrong in one run. `withRedis`: a worker host and Redis can die too. */
export function planRun(random: Random, withRedis: boolean): Schedule {
  const messages: PlannedMessage[] = [];
  const count = random.int(2, 5);
  const clip = (): ClipText => ({
    outcome: random.pick(['clean', 'clean', 'fix', 'fix', 'unsure', 'bad']),
    delayMs: random.int(0, 80),
  });
  const delivery = (): Delivery => {
    const kind = random.pick(['once', 'once', 'twice', 'late'] as const);
    return kind === 'once' ? { kind } : { kind, afterMs: random.int(1, 400) };
  };
  for (let i = 0; i < count; i += 1) {
    const rootAt = messages.findIndex(
      (m, at) => m.reply === null && m.clips.length === 1 && !messages.some((other) => other.reply === at),
    );
    const root = rootAt >= 0 && random.chance(0.3) ? messages[rootAt] : undefined;
    const atMs = (messages.at(-1)?.atMs ?? 0) + random.int(0, 250);
    messages.push(
      root === undefined
        ? {
            atMs,
            by: random.pick(members),
            clips: Array.from({ length: random.chance(0.25) ? 2 : 1 }, clip),
            reply: null,
            delivery: delivery(),
          }
        : { atMs, by: root.by, clips: [clip()], reply: rootAt, delivery: delivery() },
    );
  }
  const lastMs = messages.at(-1)?.atMs ?? 0;
  const outages = Array.from({ length: random.int(0, 1) }, () => {
    const fromMs = random.int(0, lastMs);
    return { fromMs, toMs: fromMs + random.int(10, 500) };
  });
  const deaths = Array.from({ length: random.int(0, 3) }, () => ({
    ...(random.chance(0.7)
      ? { step: random.pick(steps), call: random.int(1, 2 * count) }
      : { step: null, call: random.int(1, 60 * count) }),
    when: random.pick(['before', 'after'] as const),
  }));
  const victims = withRedis ? (['bot', 'measuring', 'host', 'redis', 'redis-emptied'] as const) : (['bot', 'measuring'] as const);
  const kills = Array.from({ length: random.int(0, 3) }, () => ({
    what: random.pick(victims),
    afterCalls: random.int(1, 8 * count),
    delayMs: random.int(0, 60),
    downMs: random.int(0, 300),
  }));
  return {
    ...{ messages, outages, deaths, kills },
    faultShare: random.pick([0, 0.1, 0.3]),
    mostFaults: random.int(2, 12),
    byAddress: random.chance(0.5),
    progressAfterS: random.pick([0.2, 600]),
  };
}
