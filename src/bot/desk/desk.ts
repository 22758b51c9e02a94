import type { Action, ActionReply, Command } from '../../platforms/port.ts';
import { languageOf } from '../../wording/index.ts';
import type { BotDeps } from '../deps.ts';
import { quotedName } from '../quoted.ts';
import { isWho, whoMay } from './permissions.ts';
import { type Ask, privately, type UseCase } from './use-case.ts';

/** Presses kept in mind to recognise one that is delivered twice. Chosen: hours of a busy desk. */
const mostPresses = 2000;

export interface Desk {
  commands: Command[];
  /** Does what was pressed, chosen, sent or typed, if this person may. Never rejects: what goes wrong is logged and said in a sentence. */
  onAction(action: Action): Promise<ActionReply>;
}

/**
 * Brings acts to their use cases. Each act is checked for who it is anew; a press delivered twice is answered once and alike. After a
 * restart nothing is remembered of presses, so use cases make ids of the press id, or move states that can only be moved once.
 */
export function createDesk(useCases: readonly UseCase[], deps: BotDeps, kick: () => void): Desk {
  const presses = new Map<string, Promise<ActionReply>>();
  const { ledger, log, nowMs } = deps;
  const words = languageOf(deps.language).desk;

  function find(action: Action): { useCase: UseCase; args: string[] } | null {
    const [head = '', ...args] = action.id.split(':');
    const useCase = useCases.find(({ id, command }) => (action.kind === 'command' ? command?.name === action.id : id === head));
    return useCase === undefined ? null : { useCase, args: action.kind === 'command' ? [] : args };
  }

  async function act(given: Action): Promise<ActionReply> {
    const person = { ...given.person, name: quotedName(given.person) };
    const action = { ...given, person };
    const found = find(action);
    if (found === null) return privately(words.unknownAct);
    const { useCase, args } = found;
    const ask: Ask = { deps, action, person, args, kick };
    const who = whoMay(useCase, deps.settings());
    const allowed = isWho(person, who, deps.settings());
    const subject = useCase.subject?.(ask) ?? args[0] ?? '';
    // Members looking at their own things is nobody's business.
    if (who !== 'anyone' || !allowed) {
      const { platform, id: personId, name: personName } = person;
      await ledger.audit.note({ atMs: nowMs(), platform, personId, personName, act: useCase.id, subject, allowed });
    }
    if (!allowed) {
      log.warn({ platform: person.platform, person: person.id, act: useCase.id }, 'an act was refused');
      return privately(words.refused(who));
    }
    return useCase.run(ask);
  }

  return {
    commands: useCases.flatMap(({ command }) => (command === undefined ? [] : [command])),
    onAction(action) {
      const key = `${action.person.platform}/${action.pressId}`;
      const earlier = presses.get(key);
      if (earlier !== undefined) return earlier;
      const reply = act(action).catch((error: unknown) => {
        log.error({ act: action.id.split(':')[0], error: String(error) }, 'an act went wrong');
        presses.delete(key);
        return privately(words.wentWrong);
      });
      presses.set(key, reply);
      if (presses.size > mostPresses) presses.delete(presses.keys().next().value ?? '');
      return reply;
    },
  };
}
