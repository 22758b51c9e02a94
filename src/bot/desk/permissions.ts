import type { Person } from '../../platforms/port.ts';
import type { BotSettings } from '../deps.ts';
import type { UseCase, Who } from './use-case.ts';

type People = Pick<BotSettings, 'people' | 'may'>;

/** Whether a person is one of these by their own id or by a role or group. */
const isAmong = (person: Person, ids: readonly string[]) =>
  ids.includes(person.id) || person.groups.some((group) => ids.includes(group));

/** What a person is: moderators may do what coaches may. */
export function isWho(person: Person, who: Who, { people }: People): boolean {
  if (who === 'anyone') return true;
  const own = people[person.platform];
  return isAmong(person, own?.moderators ?? []) || (who === 'coach' && isAmong(person, own?.coaches ?? []));
}

/** Who may do this: as settings say, else as the use case says. */
export function whoMay(useCase: Pick<UseCase, 'id' | 'who'>, { may }: People): Who {
  return may[useCase.id] ?? useCase.who;
}
