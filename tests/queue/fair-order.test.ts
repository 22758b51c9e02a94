import { describe, expect, it } from 'vitest';
import { createFairOrder } from '../../src/queue/fair-order.ts';

/** Serves all clips, one at a time; `arrivals[i]` come after i were served. */
function serve(arrivals: Record<number, [id: string, member: string][]>): string[] {
  const order = createFairOrder();
  const served: string[] = [];
  for (let i = 0; ; i += 1) {
    const id = order.next();
    if (id !== null) order.begin(id);
    for (const [arrived, member] of arrivals[i] ?? []) order.add(arrived, member);
    const now = id ?? order.next();
    if (now === null) return served;
    served.push(now);
    order.end(now);
  }
}

describe('fair order', () => {
  it('lets members take turns, in order of arrival within a turn', () => {
    const clips: [string, string][] = [
      ['j1', 'juno'],
      ['j2', 'juno'],
      ['j3', 'juno'],
      ['t1', 'tamsin'],
      ['o1', 'odo'],
      ['t2', 'tamsin'],
    ];
    expect(serve({ 0: clips })).toEqual(['j1', 't1', 'o1', 'j2', 't2', 'j3']);
  });

  it('a member with ten clips is not held up for ever by newcomers, nor they by the ten', () => {
    const arrivals: Record<number, [string, string][]> = { 0: [...Array(10).keys()].map((i) => [`j${i}`, 'juno']) };
    for (let i = 1; i < 40; i += 1) arrivals[i] = [[`n${i}`, `new-${i}`]];
    const served = serve(arrivals);
    const junos = served.map((id, i) => (id.startsWith('j') ? i : -1)).filter((i) => i >= 0);
    expect(junos).toHaveLength(10);
    expect(served.indexOf('n1')).toBeLessThan(served.indexOf('j2'));
    expect(served.indexOf('j1')).toBeLessThan(served.indexOf('n5'));
    expect(served.indexOf('j3')).toBeLessThan(served.indexOf('n39'));
  });

  it('tells places, and keeps the turn of a clip that is put back', () => {
    const order = createFairOrder();
    expect(order.next()).toBe(null);
    order.add('j1', 'juno');
    expect(order.add('j2', 'juno')).toBe(2);
    expect(order.add('j2', 'juno')).toBe(2);
    order.add('t1', 'tamsin');
    order.begin('j1');
    expect([...order.places()]).toEqual([
      ['j1', 0],
      ['t1', 1],
      ['j2', 2],
    ]);
    expect(order.depth()).toEqual({ waiting: 2, running: 1 });
    order.putBack('j1');
    expect(order.next()).toBe('j1');
    order.end('j1');
    expect(order.next()).toBe('t1');
  });
});
