import type { StoredRequest } from '../../../ledger/port.ts';
import { type LiftData, lifts } from '../../../lifts/index.ts';
import { RequestedView } from '../../../rules/request.ts';
import { requestedZones } from '../../../rules/zones.ts';
import { placeOf } from '../../../wording/directions.ts';
import { languageOf } from '../../../wording/index.ts';
import { type Ask, privately, type UseCase } from '../use-case.ts';
import { nameFor, pictureFile } from './drawn.ts';

const id = 'film';
const { lifts: liftNames, member } = languageOf('en');
const options = lifts.map((lift) => ({ value: lift.id, label: liftNames[lift.id] }));

/** The lift with the view that a coach asked for, where that is a place to stand. */
function withRequest(lift: LiftData, request: StoredRequest | null): LiftData {
  const view = RequestedView.safeParse(request?.view);
  const zones = view.success ? requestedZones(view.data) : null;
  return zones === null ? lift : { ...lift, zones };
}

async function guide(usual: LiftData, { deps, person }: Ask) {
  const language = languageOf(deps.language);
  const { film } = language.member;
  const open = await deps.ledger.requests.openOf(person.platform, person.id, deps.nowMs());
  const own = open.find((request) => request.lift === usual.id) ?? null;
  const lift = withRequest(usual, own);
  const asked = (request: StoredRequest) => ({
    ...request,
    lift: language.lifts[request.lift as LiftData['id']] ?? request.lift,
  });
  const others = open.filter((request) => request !== own);
  const { pictures } = language;
  const isMiddle = lift.zones.every(({ aimDeg }) => aimDeg === 0 || aimDeg === 180);
  const text = [
    ...(own === null ? [] : [film.asked(asked(own))]),
    film.guide({
      lift: language.lifts[lift.id],
      places: pictures.guidePlaces(
        lift.zones.map(({ aimDeg }) => placeOf(aimDeg)),
        lift.id,
      ),
      away: pictures.heightRange(lift.distanceM),
      high: pictures.heightRange(lift.heightM),
      see: pictures.guideSee(lift.parts.map(({ part }) => part)),
      sideMatters: !isMiddle,
    }),
    ...others.map((request) => film.askedOther(asked(request))),
    language.reply.cautions,
  ].join('\n');
  try {
    const picture = deps.draw.guide(lift);
    const name = `guide-${lift.id}-${nameFor(picture.png)}`;
    return privately(text, { files: [await pictureFile(picture, name, `film-${lift.id}.png`, deps)] });
  } catch (error) {
    deps.log.error({ lift: lift.id, error: String(error) }, 'a guide could not be drawn');
    return privately(text);
  }
}

/** How to film a lift: words and a picture, with what the coach asked this member for. */
export const film: UseCase = {
  id,
  who: 'anyone',
  command: {
    name: id,
    description: member.film.description,
    fields: [{ id: 'lift', label: member.film.lift, required: false, options }],
  },
  async run(ask) {
    const { action, deps } = ask;
    const lift = lifts.find((one) => one.id === (action.values.lift ?? action.values[id]));
    if (lift !== undefined) return guide(deps.asSet(lift), ask);
    return privately(languageOf(deps.language).member.film.which, { choices: [{ id, label: member.film.lift, options }] });
  },
};
