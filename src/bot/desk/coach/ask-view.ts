import { createHash } from 'node:crypto';
import { LiftId } from '../../../facts/facts.ts';
import type { NewRequest } from '../../../ledger/port.ts';
import type { Action, ActionReply, Form } from '../../../platforms/port.ts';
import { RequestedView } from '../../../rules/request.ts';
import { languageOf } from '../../../wording/index.ts';
import { endOfDayMs, localTime } from '../../local-time.ts';
import { actFor, plain } from '../../payload.ts';
import { quoted } from '../../quoted.ts';
import { leftOf } from '../../view-request.ts';
import { type Ask, privately, type UseCase } from '../use-case.ts';
import { clipOnDesk, type DeskClip } from './desk-clip.ts';

const longestNote = 300; // chosen: two or three sentences; below any platform's limit of a field
const clipCounts = [1, 2, 3, 5, 10]; // chosen: a set, a session, a few weeks
const dayMs = 24 * 3_600_000;

/** Short and safe in a button: pressed twice, it is the same wish. */
const requestIdOf = ({ person, pressId }: Action) =>
  createHash('sha256').update(`${person.platform}/${pressId}`).digest('hex').slice(0, 16);

function formOf({ action, deps }: Ask, { judgement }: DeskClip): Form {
  const { coach, lifts } = languageOf(deps.language);
  const words = coach.askForm;
  const { lift } = judgement;
  const exampleDay = localTime(deps.nowMs() + 14 * dayMs, deps.settings().zone).date; // an example only: two weeks on
  return {
    ...{ id: action.id, title: words.title },
    fields: [
      {
        ...{ id: 'lift', label: words.lift, required: lift === null, hint: words.liftHint(lift && lifts[lift]), kind: 'choice' },
        options: LiftId.options.map((value) => ({ value, label: lifts[value] })),
      },
      {
        ...{ id: 'view', label: words.view, required: true, hint: words.viewHint, kind: 'choice' },
        options: RequestedView.options.map((value) => ({ value, label: coach.views[value] ?? value })),
      },
      {
        ...{ id: 'clips', label: words.lasts, required: false, hint: words.lastsHint, kind: 'choice' },
        options: clipCounts.map((n) => ({ value: String(n), label: words.clips(n) })),
      },
      {
        ...{ id: 'until', label: words.until, required: false, hint: words.untilHint(exampleDay), kind: 'text' },
        ...{ lines: 'one', maxLength: 10 }, // a day as 2026-11-23
      },
      {
        ...{ id: 'note', label: words.note, required: false, hint: words.noteHint, kind: 'text' },
        ...{ lines: 'many', maxLength: longestNote },
      },
    ],
  };
}

/** What the form says, checked; else what to say about it. */
function requestOf({ action, person, deps }: Ask, { s, judgement }: DeskClip): NewRequest | ActionReply {
  const { told } = languageOf(deps.language).coach;
  const { values } = action;
  const lift = LiftId.safeParse(values.lift ?? judgement.lift);
  if (!lift.success) return privately(told.badLift);
  const view = RequestedView.safeParse(values.view);
  if (!view.success) return privately(told.badReason);
  const until = (values.until ?? '').trim();
  const untilMs = until === '' ? null : endOfDayMs(until, deps.settings().zone);
  if (until !== '' && (untilMs === null || untilMs <= deps.nowMs())) return privately(told.badEnd);
  const clips = clipCounts.find((n) => String(n) === values.clips) ?? 1;
  return {
    ...{ id: requestIdOf(action), platform: person.platform, memberId: s.authorId, lift: lift.data, view: view.data },
    ...{ note: quoted(values.note ?? '', longestNote), clipsLeft: untilMs === null ? clips : null, untilMs },
    ...{ byId: person.id, byName: person.name },
  };
}

/** A coach wants to see a member's lift from another view: the member is told, and their next clips of it are judged by that. */
export const askView: UseCase = {
  id: 'ask-view',
  who: 'coach',
  async run(ask) {
    const { deps, action, person, kick } = ask;
    const clip = await clipOnDesk(ask);
    if ('kind' in clip) return clip;
    if (action.kind !== 'form') return { kind: 'form', form: formOf(ask, clip) };
    const request = requestOf(ask, clip);
    if ('kind' in request) return request;
    const { coach, lifts } = languageOf(deps.language);
    const { s } = clip;
    const lift = LiftId.parse(request.lift);
    const view = RequestedView.parse(request.view);
    const { note } = request;
    const text = coach.asks({ coach: person.name, lift, liftName: lifts[lift], view, note, left: leftOf(request, deps) });
    const to = { channel: s.ref.channel, message: s.ref };
    const post = actFor(s, `request/${request.id}`, { do: 'post', platform: s.ref.platform, to, message: plain(text) });
    await deps.ledger.requests.add(request, deps.nowMs(), [post]);
    kick();
    const takeBack = { id: `end-request:${request.id}:${s.id}`, label: coach.buttons.endRequest, style: 'plain' as const };
    return privately(coach.told.asked(s.authorName), { buttons: takeBack.id.length <= 100 ? [takeBack] : [] });
  },
};
