import { languageOf } from '../../../wording/index.ts';
import { actFor, plain } from '../../payload.ts';
import { privately, type UseCase } from '../use-case.ts';

/** A coach takes back that they asked for another view; the member is told in the thread where it was asked. */
export const endRequest: UseCase = {
  id: 'end-request',
  who: 'coach',
  async run({ deps, person, args, kick }) {
    const { ledger, nowMs } = deps;
    const { coach, lifts } = languageOf(deps.language);
    const [id = '', submission = ''] = args;
    const request = await ledger.requests.find(id);
    const s = await ledger.submission(submission);
    const isItsOwn = request !== null && s !== null && s.authorId === request.memberId && s.ref.platform === request.platform;
    if (!isItsOwn || request.platform !== person.platform) return privately(coach.told.gone);
    const text = coach.takesBack(person.name, lifts[request.lift as keyof typeof lifts] ?? request.lift);
    const to = { channel: s.ref.channel, message: s.ref };
    const payload = { do: 'post' as const, platform: s.ref.platform, to, message: plain(text) };
    const ended = await ledger.requests.close(id, nowMs(), [actFor(s, `end-request/${id}`, payload)]);
    if (!ended) return privately(coach.told.requestOver);
    kick();
    return privately(coach.told.requestEnded);
  },
};
