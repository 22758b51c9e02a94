import type { DeskEntry, NewAct, Submission } from '../../../ledger/port.ts';
import type { Button } from '../../../platforms/port.ts';
import { languageOf } from '../../../wording/index.ts';
import type { BotDeps } from '../../deps.ts';
import { actFor, Payload, plain } from '../../payload.ts';

const longestId = 100; // of a button, on every platform

/** Key of the act that posts a clip's card. */
export const cardKey = (id: string) => `coach/${id}`;

/** What a coach can do about a clip, by where it stands on the desk. */
export function cardButtons(id: string, state: DeskEntry['state'], { language }: Pick<BotDeps, 'language'>): Button[] {
  const { buttons } = languageOf(language).coach;
  const take: Button = { id: `take:${id}`, label: buttons.take, style: 'good' };
  const done: Button = { id: `done:${id}`, label: buttons.done, style: 'good' };
  const handBack: Button = { id: `hand-back:${id}`, label: buttons.handBack, style: 'plain' };
  const unusable: Button = { id: `unusable:${id}`, label: buttons.unusable, style: 'danger' };
  const askView: Button = { id: `ask-view:${id}`, label: buttons.askView, style: 'plain' };
  const all =
    state === 'waiting' ? [take, unusable, askView] : state === 'taken' ? [done, handBack, unusable, askView] : [askView];
  return all.filter((button) => button.id.length <= longestId);
}

/**
 * Makes a clip's card show where it stands: `line` (empty for none) below its title, and the buttons that are left. The text is that of the
 * card as it was posted, the files stay, nobody is mentioned again.
 */
export async function cardEdit(
  s: Submission,
  state: DeskEntry['state'],
  line: string,
  key: string,
  deps: Pick<BotDeps, 'ledger' | 'language'>,
): Promise<NewAct> {
  const posted = Payload.safeParse((await deps.ledger.act(cardKey(s.id)))?.payload);
  const [title = '', ...rest] = (posted.success && posted.data.do === 'post' ? posted.data.message.text : '').split('\n');
  const text = [title, ...(line === '' ? [] : [line]), ...rest].join('\n');
  const message = { ...plain(text), buttons: cardButtons(s.id, state, deps) };
  const { platform } = s.ref;
  return actFor(s, key, { do: 'edit', platform, posted: cardKey(s.id), message }, { lane: `coach/${platform}` });
}
