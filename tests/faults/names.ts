import dns from 'node:dns';
import { vi } from 'vitest';

type Answer = (error: Error | null, address?: unknown, family?: number) => void;

/**
 * Names under `.invalid`, of which the system's resolver never knows one (RFC 6761, section 6.4): what is asked while a name is away fails for
 * real. While it is not away it stands for 127.0.0.1. `undo` gives the resolver back.
 */
export function pretendNames() {
  const away = new Set<string>();
  const asked: string[] = [];
  const real = dns.lookup as (...args: unknown[]) => void;
  const spy = vi.spyOn(dns, 'lookup').mockImplementation(((name: string, ...rest: unknown[]) => {
    const answer = rest.at(-1) as Answer;
    const options = (typeof rest[0] === 'object' && rest[0] !== null ? rest[0] : {}) as { all?: boolean };
    if (!name.endsWith('.invalid')) return real.call(dns, name, ...rest);
    asked.push(name);
    if (away.has(name)) return real.call(dns, name, ...rest);
    const address = { address: '127.0.0.1', family: 4 };
    process.nextTick(() => (options.all ? answer(null, [address]) : answer(null, address.address, address.family)));
  }) as never);
  return {
    away,
    /** Names that were asked for while they were pretended, oldest first. */
    asked,
    undo: () => spy.mockRestore(),
  };
}
