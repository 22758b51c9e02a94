import type { NewEvidence } from '../../../ledger/port.ts';
import type { ActionReply, Form } from '../../../platforms/port.ts';
import { rules } from '../../../rules/index.ts';
import { placeOf } from '../../../wording/directions.ts';
import { languageOf } from '../../../wording/index.ts';
import { actFor, plain } from '../../payload.ts';
import { quoted } from '../../quoted.ts';
import { type Ask, privately, type UseCase } from '../use-case.ts';
import { clipOnDesk, type DeskClip, marksOfTakes, moveClip, whereItIs } from './desk-clip.ts';

const longestNote = 300; // chosen: two or three sentences; below any platform's limit of a field

function formOf(id: string, language: string): Form {
  const { coach, forCoaches } = languageOf(language);
  const words = coach.unusableForm;
  const reasons = rules.map((rule) => ({ value: rule.id, label: forCoaches.ruleNames[rule.id] ?? rule.id }));
  return {
    ...{ id, title: words.title },
    fields: [
      { id: 'reason', label: words.reason, required: true, hint: words.reasonHint, kind: 'choice', options: reasons },
      {
        id: 'note',
        label: words.note,
        required: false,
        hint: words.noteHint,
        kind: 'text',
        lines: 'many',
        maxLength: longestNote,
      },
    ],
  };
}

/** What the member reads in their thread: what a coach misses, and what to do. */
function correctionOf({ judgement }: DeskClip, rule: string, language: string): string {
  const words = languageOf(language);
  const { wanted, lift } = judgement;
  const metres = words.coach.metres;
  return (
    words.coach.corrections[rule]?.({
      place: wanted === null ? null : words.place(placeOf(wanted.azimuthDeg), lift),
      height: wanted === null ? null : metres(wanted.heightM),
      distance: wanted === null ? null : metres(wanted.distanceM),
    }) ?? ''
  );
}

async function sendBack(ask: Ask, clip: DeskClip, rule: string, note: string): Promise<ActionReply> {
  const { deps, person } = ask;
  const { s } = clip;
  const { coach, forCoaches } = languageOf(deps.language);
  const text = coach.sentBack({ coach: person.name, correction: correctionOf(clip, rule, deps.language), note });
  const to = { channel: s.ref.channel, message: s.ref };
  const acts = [
    actFor(s, `unusable/${s.id}`, { do: 'post', platform: s.ref.platform, to, message: plain(text) }),
    ...(await marksOfTakes(s, 'unusable', deps)),
  ];
  const line = coach.card.unusable(person.name, forCoaches.ruleNames[rule] ?? rule, note);
  const by = { id: person.id, name: person.name };
  // A clip that was sent back and sent on by its member was not missed.
  const missed = s.verdict !== 'fix';
  const evidence: NewEvidence = {
    ...{ id: `unusable/${s.id}`, submission: s.id, kind: 'unusable', rule, reason: note },
    ...{ byId: person.id, byName: person.name },
  };
  const said = missed ? [evidence] : [];
  const moved =
    (await moveClip(ask, clip, { from: ['taken'], to: 'unusable', heldBy: person.id }, line, acts, said)) ||
    (await moveClip(ask, clip, { from: ['waiting'], to: 'unusable', coach: by }, line, acts, said));
  if (!moved) return whereItIs(ask, clip);
  return privately(coach.told.unusable(s.authorName, missed));
}

/** A coach cannot use a clip that was passed: the member is told why, and it is kept as a fault that was missed. */
export const unusable: UseCase = {
  id: 'unusable',
  who: 'coach',
  async run(ask) {
    const { deps, person, action } = ask;
    const clip = await clipOnDesk(ask);
    if ('kind' in clip) return clip;
    const { state, coachId } = clip.entry;
    const isOpen = state === 'waiting' || (state === 'taken' && coachId === person.id);
    if (action.kind !== 'form') return isOpen ? { kind: 'form', form: formOf(action.id, deps.language) } : whereItIs(ask, clip);
    const rule = rules.find(({ id }) => id === action.values.reason);
    if (rule === undefined) return privately(languageOf(deps.language).coach.told.badReason);
    return sendBack(ask, clip, rule.id, quoted(action.values.note ?? '', longestNote));
  },
};
