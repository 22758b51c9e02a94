import { differences } from '../../../moderation/differences.ts';
import { truthOf } from '../../../moderation/judged-clip.ts';
import { withChange } from '../../../moderation/rule-change.ts';
import { oftenOverruled, type Suggestion, suggestions } from '../../../moderation/suggest.ts';
import type { RulesSettings } from '../../../rules/settings.ts';
import type { DifferenceSaid } from '../../../wording/moderator-words.ts';
import { privately, type UseCase } from '../use-case.ts';
import { wordsFor } from './propose.ts';
import { storedClips } from './stored-clips.ts';

/** A suggestion as the value of a choice, to be parsed by try-suggestion.ts. */
const choiceOf = ({ change: { rule, lift, setting, value } }: Suggestion) => [rule, lift ?? 'all', setting, value].join(':');

function differenceOf({ change, from }: Suggestion, settings: RulesSettings): DifferenceSaid {
  const { rule, lift, setting, value: to } = change;
  const found = differences(settings, withChange(settings, change))[0];
  return found ?? { rule, lifts: lift === null ? 'all' : [lift], setting, from, to };
}

/** What people's words suggest: rules that are often overruled, and changes that would have been right more often. */
export const suggestRules: UseCase = {
  id: 'rules-suggest',
  who: 'moderator',
  async run(ask) {
    const { deps } = ask;
    const { suggestions: words } = wordsFor(ask);
    const { settings } = deps.rules.inForce();
    const { clips } = await storedClips(deps.ledger, deps.settings().rejudgeLast);
    const known = clips.filter((clip) => truthOf(clip) !== null).length;
    const [overruled, better] = [oftenOverruled(clips, settings), suggestions(clips, settings)];
    if (overruled.length + better.length === 0) return privately(words.none(clips.length, known));
    const said = better.map((one) => ({ ...one, difference: differenceOf(one, settings) }));
    const options = said.map((one) => ({ value: choiceOf(one), label: words.option(one.difference) }));
    const lines = [...overruled.map(words.overruled), ...said.map(words.change)];
    return privately([words.head(clips.length, known), ...lines.map((line) => `· ${line}`)].join('\n'), {
      choices: options.length === 0 ? [] : [{ id: 'rules-try', label: words.try, options: options.slice(0, 25) }],
    });
  },
};
