import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { Forgotten, NewAct } from '../../../ledger/port.ts';
import { languageOf } from '../../../wording/index.ts';
import { erasing, Payload } from '../../payload.ts';
import { removeSpooled } from '../../retention.ts';
import { privately, type UseCase } from '../use-case.ts';
import { chartName } from './drawn.ts';

const id = 'forget-me';
const { member } = languageOf('en');
const mostCounted = 10_000; // chosen: more clips than one member posts in years

/** What removes our posts and marks of these clips from their platform. */
function erasingAll({ submissions, acts }: Forgotten): NewAct[] {
  const payloads = acts.map((act) => ({ act, payload: Payload.safeParse(act.payload).data }));
  const removed = new Set(
    payloads.flatMap(({ act, payload }) => (payload?.do === 'remove' && act.state === 'done' ? [payload.posted] : [])),
  );
  const posts = payloads.flatMap(({ act, payload }) =>
    act.ref !== null && (payload?.do === 'post' || payload?.do === 'progress') && !removed.has(act.key)
      ? [erasing(act.ref, 'post', act.key)]
      : [],
  );
  const messages = new Map(submissions.map(({ ref }) => [ref.message, ref]));
  return [...posts, ...[...messages.values()].map((ref) => erasing(ref, 'marks', `${ref.channel}/${ref.message}`))];
}

/** Deletes all that is kept of the member, once they have confirmed it. */
export const forgetMe: UseCase = {
  id,
  who: 'anyone',
  command: { name: id, description: member.forget.description, fields: [] },
  async run({ deps, action, person, args, kick }) {
    const { ledger, spool, log, nowMs } = deps;
    const { forget } = languageOf(deps.language).member;
    const { platform } = person;
    if (action.kind === 'command') {
      const clips = (await ledger.members.clips(platform, person.id, mostCounted)).length;
      return privately(forget.ask(clips), { buttons: [{ id: `${id}:yes`, label: forget.confirm, style: 'danger' }] });
    }
    if (args[0] !== 'yes') return { kind: 'nothing' };
    const who = { platform, memberId: person.id, instead: forget.someone };
    const { submissions } = await ledger.members.forget(who, nowMs(), erasingAll);
    for (const { id: clip } of submissions) await removeSpooled(spool, clip);
    await rm(join(spool, `${chartName(person)}.png`), { force: true });
    const nobody = { personId: '', personName: '' };
    await ledger.audit.note({ ...nobody, atMs: nowMs(), platform, act: id, subject: '', allowed: true });
    log.info({ platform, clips: submissions.length }, 'a member was forgotten');
    kick();
    return privately(submissions.length === 0 ? forget.nothing : forget.done(submissions.length));
  },
};
