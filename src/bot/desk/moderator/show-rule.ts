import { lifts } from '../../../lifts/index.ts';
import { sharesOf } from '../../../moderation/rejudge.ts';
import { oftenOverruled } from '../../../moderation/suggest.ts';
import { rules } from '../../../rules/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { wordsFor } from './propose.ts';
import { ruleSaid } from './rule-views.ts';
import { storedClips } from './stored-clips.ts';

/** One rule for each lift, with all its options, the moderators' own words and what people said of it. */
export const showRule: UseCase = {
  id: 'rule',
  who: 'moderator',
  subject: ({ action }) => action.values.rule ?? '',
  async run(ask) {
    const { deps, action } = ask;
    const words = wordsFor(ask);
    const rule = rules.find(({ id }) => id === action.values.rule);
    if (rule === undefined) return privately(words.unknownRule);
    const { settings } = deps.rules.inForce();
    const { clips } = await storedClips(deps.ledger, deps.settings().rejudgeLast);
    const lines = [null, ...lifts.map(({ id }) => id)].map((lift) =>
      words.detail.line(lift, ruleSaid(rule, lift, settings, sharesOf(clips, settings, lift))),
    );
    const entry = settings[rule.id];
    const texts = [null, ...lifts.map(({ id }) => id)].flatMap((lift) =>
      Object.entries((lift === null ? entry : entry?.lifts?.[lift])?.messages ?? {}).map(([message, text]) =>
        words.detail.text(lift, message, text ?? ''),
      ),
    );
    const against = oftenOverruled(clips, settings).find((one) => one.rule === rule.id);
    const overruled = against === undefined ? [] : [words.detail.overruled(against)];
    return privately([words.detail.head(rule.id, rule.docs), ...lines, ...texts, ...overruled].join('\n'), {
      buttons: [{ id: `rule-change:${rule.id}`, label: words.buttons.change, style: 'good' }],
    });
  },
};
