import { createHash } from 'node:crypto';
import type { ArchivedClip, Proposal } from '../../../ledger/port.ts';
import { differences } from '../../../moderation/differences.ts';
import { rejudge } from '../../../moderation/rejudge.ts';
import type { ActionReply } from '../../../platforms/port.ts';
import type { RulesSettings } from '../../../rules/settings.ts';
import { parseRules } from '../../../settings/load.ts';
import { SettingsError } from '../../../settings/settings-error.ts';
import { languageOf } from '../../../wording/index.ts';
import type { RulesInForce } from '../../live-rules.ts';
import { type Ask, privately } from '../use-case.ts';
import { effectSaid, storedClips } from './stored-clips.ts';

const mostDifferences = 10; // chosen: with the effect they stay in one message of 2,000 characters

/** The sentences for moderators. */
export const wordsFor = ({ deps }: Pick<Ask, 'deps'>) => languageOf(deps.language).moderator;

/** Short id of a proposal, the same for the same press. */
const idOf = ({ action, person }: Ask) =>
  createHash('sha256').update(`${person.platform}/${action.pressId}`).digest('hex').slice(0, 10);

/** What differs, in words, at most ten lines. */
export function differencesSaid(before: RulesSettings, after: RulesSettings, ask: Pick<Ask, 'deps'>): string[] {
  const words = wordsFor(ask);
  const all = differences(before, after);
  const said = all.slice(0, mostDifferences).map((one) => words.difference(one));
  return all.length > said.length ? [...said, words.moreDifferences(all.length - said.length)] : said;
}

/** What a change would have done to stored clips, in words; clips of other platforms count but are not named. */
async function effectText({ deps, person }: Ask, before: RulesSettings, after: RulesSettings): Promise<string> {
  const stored = await storedClips(deps.ledger, deps.settings().rejudgeLast);
  const linkOf = ({ ref }: ArchivedClip) => (ref.platform === person.platform ? { url: deps.threadUrl(ref) } : null);
  return wordsFor({ deps }).effect(effectSaid(rejudge(stored.clips, before, after), stored, linkOf));
}

/** Keeps a change as a proposal and shows what it would do; or says what is wrong with it. `make` may throw SettingsError. */
export async function propose(ask: Ask, make: (inForce: RulesInForce) => string): Promise<ActionReply> {
  const { deps, person } = ask;
  const words = wordsFor(ask);
  const inForce = deps.rules.inForce();
  let yaml: string;
  let settings: RulesSettings;
  try {
    yaml = make(inForce);
    settings = parseRules(yaml, 'rules');
  } catch (error) {
    if (!(error instanceof SettingsError)) throw error;
    return privately(words.notUnderstood(error.problems));
  }
  const what = differencesSaid(inForce.settings, settings, ask);
  if (what.length === 0) return privately(words.sameAlready);
  const id = idOf(ask);
  const by = { byId: person.id, byName: person.name };
  await deps.ledger.rules.propose({ id, platform: person.platform, ...by, base: inForce.version, yaml }, deps.nowMs());
  const effect = await effectText(ask, inForce.settings, settings);
  const text = [words.proposal.head(inForce.version), ...what.map((one) => `· ${one}`), '', effect].join('\n');
  return privately(text, {
    buttons: [
      { id: `rules-apply:${id}`, label: words.buttons.apply, style: 'good' },
      { id: `rules-drop:${id}`, label: words.buttons.drop, style: 'plain' },
    ],
  });
}

/** The open proposal that an act names, of the same platform; else what to say. */
export async function openProposal(ask: Ask): Promise<Proposal | ActionReply> {
  const { deps, args, person } = ask;
  const { proposal: words } = wordsFor(ask);
  const proposal = args[0] === undefined ? null : await deps.ledger.rules.proposal(args[0]);
  if (proposal === null || proposal.platform !== person.platform || proposal.state !== 'open') return privately(words.gone);
  return proposal;
}
