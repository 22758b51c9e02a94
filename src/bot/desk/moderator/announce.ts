import type { ActsOf } from '../../../ledger/port.ts';
import type { PlatformName } from '../../../platforms/port.ts';
import type { RulesSettings } from '../../../rules/settings.ts';
import { type Payload, plain } from '../../payload.ts';
import type { Ask } from '../use-case.ts';
import { differencesSaid, wordsFor } from './propose.ts';

/** Lane of what goes to the moderators of a platform. */
export const moderatorLane = (platform: PlatformName) => `moderators/${platform}`;

/** Tells the moderators' channel of each platform who changed the rules, what and why, with a button that undoes it. */
export function announcement(ask: Ask, reason: string, before: RulesSettings, after: RulesSettings): ActsOf {
  const { deps, person } = ask;
  const words = wordsFor(ask);
  const text = words.announced({ who: person.name, reason, what: differencesSaid(before, after, ask) });
  return (version) =>
    deps.platforms.flatMap(({ name: platform }) => {
      const channel = deps.settings().moderatorChannel[platform];
      if (channel === undefined) return [];
      const undo = { id: `rules-undo:${version}`, label: words.buttons.undoThis, style: 'plain' } as const;
      const message = { ...plain(text), buttons: [undo] };
      const payload: Payload = { do: 'post', platform, to: { channel, message: null }, message };
      return [
        { key: `rules/${version}/${platform}`, lane: moderatorLane(platform), submission: null, payload, essential: false },
      ];
    });
}
