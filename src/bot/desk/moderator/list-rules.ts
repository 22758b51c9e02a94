import { lifts } from '../../../lifts/index.ts';
import { sharesOf } from '../../../moderation/rejudge.ts';
import { rules } from '../../../rules/index.ts';
import { languageOf } from '../../../wording/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { wordsFor } from './propose.ts';
import { ruleSaid } from './rule-views.ts';
import { storedClips } from './stored-clips.ts';

const { lifts: liftNames, moderator } = languageOf('en');

/** The rules as they stand for a lift or all, how many of the last clips each stops, and what can be done with them. */
export const listRules: UseCase = {
  id: 'rules',
  who: 'moderator',
  command: {
    name: 'rules',
    description: moderator.commands.rules,
    fields: [
      {
        ...{ id: 'lift', label: moderator.commands.rulesLift, required: false },
        options: lifts.map(({ id }) => ({ value: id, label: liftNames[id] })),
      },
    ],
  },
  subject: ({ action }) => action.values.lift ?? '',
  async run(ask) {
    const { deps, action } = ask;
    const words = wordsFor(ask);
    const lift = lifts.find(({ id }) => id === action.values.lift)?.id ?? null;
    const { version, settings } = deps.rules.inForce();
    const [made, before] = (await deps.ledger.rules.history(2)).filter((one) => one.version <= version);
    const { clips } = await storedClips(deps.ledger, deps.settings().rejudgeLast);
    const shares = sharesOf(clips, settings, lift);
    const head = words.list.head({
      ...{ version, author: made?.author ?? '', atMs: made?.atMs ?? 0 },
      ...{ lift, clips: shares.clips, readable: clips.length },
    });
    const lines = rules.map((rule) => {
      const said = ruleSaid(rule, lift, settings, shares);
      // Lists of places and parts are shown with their rule.
      return words.list.line({ ...said, options: said.options.filter(([, one]) => typeof one !== 'object') });
    });
    const { buttons } = words;
    return privately([head, ...lines].join('\n'), {
      choices: [{ id: 'rule', label: words.list.choose, options: rules.map(({ id }) => ({ value: id, label: id })) }],
      buttons: [
        { id: 'rules-suggest', label: buttons.suggestions, style: 'plain' },
        { id: 'rules-paste', label: buttons.paste, style: 'plain' },
        { id: 'rules-save', label: buttons.save, style: 'plain' },
        { id: 'rules-history', label: buttons.history, style: 'plain' },
        ...(before === undefined ? [] : [{ id: `rules-undo:${version}`, label: buttons.undo, style: 'plain' } as const]),
      ],
    });
  },
};
