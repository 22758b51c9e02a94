import type { DeskEntry } from '../../../ledger/port.ts';
import type { Button } from '../../../platforms/port.ts';
import { languageOf } from '../../../wording/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { clipOf } from './desk-clip.ts';

/** Clips that one answer shows of each kind: two rows of five buttons on Discord, whose messages hold five rows. */
const mostShown = 10;
const mostCounted = 1000; // chosen: above a day of any desk, and a bound for the query

/** What waits for the coaches, oldest first, with what the coach has taken themself. */
export const waiting: UseCase = {
  id: 'waiting',
  who: 'coach',
  command: { name: 'waiting', description: languageOf('en').coach.waitingCommand, fields: [] },
  async run({ deps, person }) {
    const { list, buttons: labels } = languageOf(deps.language).coach;
    const open = await deps.ledger.desk.list(person.platform, ['waiting', 'taken'], mostCounted);
    const own = open.filter(({ state, coachId }) => state === 'taken' && coachId === person.id);
    const free = open.filter(({ state }) => state === 'waiting');
    if (open.length === 0) return privately(list.nothing);
    let number = 0;
    const buttons: Button[] = [];
    const lines = async (entries: readonly DeskEntry[], verb: 'take' | 'done') => {
      const made: string[] = [];
      for (const entry of entries.slice(0, mostShown)) {
        const clip = await clipOf(entry, deps);
        if (clip === null) continue;
        number += 1;
        made.push(list.line({ number, title: clip.title, waitMs: deps.nowMs() - entry.createdMs, url: clip.url }));
        const label = verb === 'take' ? labels.takeNumber(number) : labels.doneNumber(number);
        buttons.push({ id: `${verb}:${entry.submission}`, label, style: 'good' });
      }
      return made;
    };
    const others = new Map<string, number>();
    for (const { state, coachId, coachName } of open)
      if (state === 'taken' && coachId !== person.id) others.set(coachName ?? '', (others.get(coachName ?? '') ?? 0) + 1);
    const text = [
      ...(own.length === 0 ? [] : [list.yours(own.length), ...(await lines(own, 'done'))]),
      ...(free.length === 0 ? [list.nothing] : [list.waiting(free.length), ...(await lines(free, 'take'))]),
      ...(free.length > mostShown ? [list.more(free.length - mostShown)] : []),
      ...[...others].map(([coach, clips]) => list.with(coach, clips)),
    ].join('\n');
    return privately(text, { buttons });
  },
};
