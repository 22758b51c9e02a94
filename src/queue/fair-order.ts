interface Entry {
  member: string;
  turn: number;
  running: boolean;
}

/** Who is next when members take turns. Within a turn, the order of arrival. */
export interface FairOrder {
  has(id: string): boolean;
  /** Gives the clip its member's next turn, or the one it had; returns it. */
  add(id: string, member: string, turn?: number): number;
  /** The waiting clip to measure next; null when none waits. */
  next(): string | null;
  begin(id: string): void;
  /** Lets a clip that was begun wait again, in its old turn. */
  putBack(id: string): void;
  end(id: string): void;
  /** Clips before each one, 0 for those begun. */
  places(): Map<string, number>;
  depth(): { waiting: number; running: number };
}

const step = 2; // between two clips of one member, so that a newcomer's clip fits between

/**
 * Fair queueing by virtual time: a member's clips get turns one step after the other, a newcomer's first clip comes half a step after the
 * turn being served, before everybody's next; each such clip moves the time on, so a stream of newcomers cannot hold anybody up for ever.
 */
export function createFairOrder(): FairOrder {
  const entries = new Map<string, Entry>();

  const newcomersTurn = () => {
    let running = Number.POSITIVE_INFINITY;
    let waiting = Number.POSITIVE_INFINITY;
    for (const { turn, running: runs } of entries.values()) {
      if (runs) running = Math.min(running, turn);
      else waiting = Math.min(waiting, turn);
    }
    if (running !== Number.POSITIVE_INFINITY) return running + step / 2;
    return waiting === Number.POSITIVE_INFINITY ? 0 : waiting;
  };
  const setRunning = (id: string, running: boolean) => {
    const entry = entries.get(id);
    if (entry !== undefined) entry.running = running;
  };

  return {
    has: (id) => entries.has(id),
    add(id, member, turn) {
      const known = entries.get(id);
      if (known !== undefined) return known.turn;
      let own = newcomersTurn();
      for (const entry of entries.values()) if (entry.member === member) own = Math.max(own, entry.turn + step);
      const given = turn ?? own;
      entries.set(id, { member, turn: given, running: false });
      return given;
    },
    next() {
      let first: string | null = null;
      let lowest = Number.POSITIVE_INFINITY;
      for (const [id, { turn, running }] of entries) {
        if (running || turn >= lowest) continue;
        first = id;
        lowest = turn;
      }
      return first;
    },
    begin: (id) => setRunning(id, true),
    putBack: (id) => setRunning(id, false),
    end: (id) => void entries.delete(id),
    places() {
      const waiting = [...entries].filter(([, e]) => !e.running).sort(([, a], [, b]) => a.turn - b.turn);
      const places = new Map<string, number>();
      for (const [id, e] of entries) if (e.running) places.set(id, 0);
      const running = places.size;
      waiting.forEach(([id], i) => void places.set(id, running + i));
      return places;
    },
    depth() {
      let running = 0;
      for (const entry of entries.values()) if (entry.running) running += 1;
      return { waiting: entries.size - running, running };
    },
  };
}
