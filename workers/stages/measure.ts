import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { ClipFacts, Facts, LiftId, Rep } from '../../src/facts/facts.ts';
import { pointWidth } from '../pose/types.ts';
import { doesAnother, otherConfidence, otherLift, pulledIn, pulledLift } from './another-lift.ts';
import { type FlowStep, stilledFlow } from './bar-flow.ts';
import { barSpeedOf } from './bar-speed.ts';
import { cameraOf, settingOf } from './camera.ts';
import { type Course, followedS, lengthS, type Person, type Sample, stilled } from './course.ts';
import { withBar } from './hands-and-bar.ts';
import { inFrameOf, obstructionOf } from './in-frame.ts';
import { type Lifter, lifterOf, mainPersonOf } from './lifter.ts';
import { isOnePerson, withoutPassers } from './passers.ts';
import { planted } from './planted.ts';
import { platesOf } from './plates.ts';
import { setWithMisread } from './reps.ts';
import { median, quantile, round2 } from './series.ts';
import { fitOf, repsOf, settleLift } from './settle-lift.ts';
import { type CameraStep, movesMuch } from './steadiness.ts';
import { turnCourse, turnNeeded } from './turn-course.ts';
import { unmeasured } from './unmeasured.ts';
import { orientationOf, uprightLifter } from './upright-lifter.ts';
import { facesSomeWay, seenFrom, viewOf } from './view.ts';
import type { Watch } from './watch.ts';

/** Heavy looks at one clip, at most. */
const closeLooks = 48;
/** Time without the lifter in which a rep may be missed, seconds, and how sure the reps are then: chosen, below what is told to a member. */
const unseenS = 1;
const maybeMissed = 0.45;
/** Before the first rep and after the last one, at least. */
const aroundS = 0.3;
/** A short set leaves looks over: they go to a rep's time (and its rest) before and after, where the light model may have missed one; at this spacing. */
const more = { reps: 1.7, spacingS: 0.25 };
/** Below this fit to its lift a movement read by the light model, which tells little of hands before a lying chest, is read by the heavy one too. */
const doubtfulFit = 0.5;
/** Heavy looks at a whole clip, at most. */
const wholeLooks = 96;
/** What is left of the sureness of a press that only hands tell, of somebody whom only a search found. Measured: four of six such were one. */
const handsAlone = 0.7;
/** What is left of the sureness of a lift read from poses that face every way, or are of two people: chosen, below what a verdict needs. */
const manyBodies = 0.6;
/** Where the heavy model sees nobody, median presence below this, the light one read a body into texture. Measured: lifters 0.84 and more, texture 0.88 and less. */
const seenClosely = 0.8;
/** So many of the others are then looked at, some seconds each. Chosen. */
const mostOthers = 2;
/** What is followed for this share of a clip may be somebody seen poorly (plates before head and trunk). Chosen. */
const someoneShare = 0.5;
/** A person who is there for this share of the lift, and at least this share of the lifter's size, counts. */
const company = { share: 0.3, size: 0.35 };

/** What the pictures tell besides the poses. */
export interface Around {
  /** The camera's own movement. */
  path: readonly CameraStep[];
  /** Movement in the picture where the bar is. */
  flow: readonly FlowStep[];
  /** Whether the one person was found by a search for somebody who presses, so that whatever moves there may have been read as a press. */
  searched?: boolean;
  /** How far up the camera looks in a time of the clip, degrees, with its standard deviation. */
  pitchIn(fromS: number, toS: number): Fact<number>;
}

/**
 * Everything that the poses tell of one clip; the rest of the facts stay unknown. Where the heavy model sees nobody in the likeliest lifter, so many of
 * the others are tried (`othersTried`).
 */
export async function measurePeople(
  given: Pick<Watch, 'course' | 'lookClosely'>,
  clip: Fact<ClipFacts>,
  around: Around,
  othersTried = mostOthers,
): Promise<Facts> {
  const { path, flow: seenFlow, searched = false, pitchIn } = around;
  const facts = unmeasured(clip);
  const watch = withoutPassers(given);
  const played = watch.course();
  const flow = stilledFlow(seenFlow, path, played.widthPx);
  const still = stilled(played, path);
  const steady = movesMuch(path) ? planted : (c: Course) => c;
  const { turn, lifter: first } = await uprightLifter(
    turnNeeded(played),
    (turnDeg) => lifterOf(steady(turnCourse(still, turnDeg)), turnDeg === 0 ? flow : []),
    async ({ person: { id } }, turnDeg) => {
      const samples = await watch.lookClosely(id, 0, Number.POSITIVE_INFINITY, closeLooks);
      return lifterOf(steady(turnCourse(stilled({ ...played, people: [{ id, samples }] }, path), turnDeg)));
    },
  );
  const uprightCourse = (c: Course) => turnCourse(c, turn?.turnDeg ?? 0);
  const course = uprightCourse(played);
  facts.orientation = orientationOf(turn);
  const alone = (samples: Sample[]): Course => ({ ...played, people: [{ id: 0, samples }] });
  const upright = (samples: Sample[]) => uprightCourse(alone(samples)).people[0]!.samples;
  const asStill = (samples: Sample[]) => steady(uprightCourse(stilled(alone(samples), path))).people[0]!.samples;
  const seen = fitOf(first?.readings[0]) < doubtfulFit ? await closerLifter(first, course, watch, asStill) : first;
  if (seen === null) return withoutLift(facts, course);
  const lifter = searched ? withBar(seen) : seen;

  const firstReps = repsOf(lifter, lifter.readings[0]!);
  const [fromS, toS] = [firstReps[0]!.startS, firstReps.at(-1)!.endS];
  const repS = median(firstReps.map((rep) => rep.endS - rep.startS));
  const moreS = Math.max(aroundS, Math.min(more.reps * repS, (closeLooks * more.spacingS - (toS - fromS)) / 2));
  const looks = await lookAtSet(watch, lifter, fromS - moreS, toS + moreS);
  const closeStill = asStill(looks);
  const { lift, reps, fit, confidence } =
    seen === first ? settleLift(lifter, closeStill) : settleLift(lifter, [], first?.readings ?? []);
  const lookAt = (...span: [id: number, fromS: number, toS: number]) => watch.lookClosely(...span, wholeLooks);
  const pulled = lift === 'bench' ? null : await pulledIn(lifter, reps, lookAt, asStill);
  const startS = Math.min(reps[0]!.startS, pulled?.startS ?? Number.POSITIVE_INFINITY);
  const endS = Math.max(reps.at(-1)!.endS, pulled?.endS ?? 0);
  const inReps = looks.filter(({ timeS }) => timeS >= fromS - moreS && timeS <= toS + moreS);
  const presence = inReps.length === 0 ? 1 : median(inReps.map((s) => s.pose.presence));
  if (presence < seenClosely) {
    if (othersTried === 0) return { ...withoutLift(facts, course), lift: facts.lift };
    const people = played.people.filter(({ id }) => id !== lifter.person.id);
    const ofOthers = await measurePeople({ ...given, course: () => ({ ...played, people }) }, clip, around, othersTried - 1);
    return ofOthers.people.known ? ofOthers : { ...withoutLift(facts, course), lift: facts.lift };
  }
  const close = upright(pulled?.looks ?? looks).filter((s) => s.timeS >= startS - aroundS && s.timeS <= endS + aroundS);
  const light = course.people.find((p) => p.id === lifter.person.id)!.samples.filter((s) => s.timeS >= startS && s.timeS <= endS);
  const inLift = close.filter((s) => s.timeS >= startS && s.timeS <= endS);
  const lockoutIsTurn = lift === 'deadlift' || lift === 'press';
  const poses = (samples: Sample[]) => samples.map((s) => s.pose);
  const byBody = viewOf(poses(close), lift);
  const pitchDeg = course === played ? pitchIn(startS, endS) : unknown<number>('ambiguous');
  const picture = { widthPx: course.widthPx, heightPx: course.heightPx, pitchDeg };
  // what the looks were cut out of is as played
  const plates =
    byBody.known && course === played ? platesOf(close, settingOf(poses(close), lift, byBody.value.azimuthDeg, picture)) : null;
  const view = plates === null ? byBody : seenFrom(byBody, plates.azimuthDeg);
  const oneBody = facesSomeWay(view) && isOnePerson(light);
  const sure = round2(confidence * (searched && !lifter.byBar ? handsAlone : 1) * (oneBody ? 1 : manyBodies));
  const isAnother = confidence < otherConfidence && doesAnother(lifter.person, course);
  const byReps = isAnother ? otherLift : known(lift, { confidence: sure });
  const azimuthDeg = view.known ? view.value.azimuthDeg : null;
  const camera = cameraOf(poses(close), lift, azimuthDeg, picture, plates?.stretch ?? null);
  const barSpeed = barSpeedOf({
    ...{ lift, reps, view, camera, frame: course },
    light: lifter.person.samples.filter((s) => s.timeS >= startS - 1 && s.timeS <= endS + 1),
    close: closeStill.filter((s) => s.timeS >= startS && s.timeS <= endS),
    flow: course === played ? flow.filter((step) => step.personId === lifter.person.id) : [],
  });
  const unseen = unseenNear(reps, lifter.person, course);
  const known1 = clip.known ? clip.value.durationS : (course.timesS.at(-1) ?? endS);
  return {
    ...facts,
    lift: pulled === null ? byReps : pulledLift,
    reps:
      pulled === null
        ? known(reps, { confidence: round2(unseen.length > 0 ? maybeMissed : Math.min(0.97, 0.5 + 0.47 * fit)) })
        : unknown('no-lift'),
    liftWindow: known({ startS, endS }, { spread: 0.5 }),
    deadTime: known(
      {
        // what was not seen may have held a rep
        leadInS: round2(Math.min(startS, ...unseen.map(({ fromS }) => fromS))),
        tailS: round2(Math.max(0, known1 - Math.max(endS, ...unseen.map(({ toS }) => toS)))),
        longestRestS: longestRestS(reps),
      },
      { spread: 0.5 },
    ),
    people: peopleOf(course, lifter.person, light, startS, endS, lift),
    view,
    camera,
    barSpeed,
    inFrame: inFrameOf(light, reps, course, lockoutIsTurn),
    // lying, the trunk hides the legs from the head end
    obstruction: lift === 'bench' ? known({ kind: 'none', share: 0 }, { confidence: 0.5 }) : obstructionOf(inLift, course),
  };
}

/**
 * Heavy looks at a lifter between two times, and beyond them at what may be reps of the set that the light model misread; where the bar has told the
 * reps nothing was misread.
 */
async function lookAtSet(
  watch: Pick<Watch, 'lookClosely'>,
  { person, movement, readings, byBar }: Lifter,
  fromS: number,
  toS: number,
): Promise<Sample[]> {
  const look = (startS: number, endS: number, most: number) => watch.lookClosely(person.id, startS, endS, most);
  if (byBar) return look(fromS, toS, closeLooks);
  const [firstS, lastS] = setWithMisread(movement, readings[0]!).map((at) => movement.startS + at * movement.stepS);
  const beyond = (startS: number, endS: number) =>
    endS - startS < aroundS ? [] : look(startS, endS, Math.min(closeLooks, Math.ceil((endS - startS) / more.spacingS)));
  const before = await beyond(firstS! - aroundS, fromS);
  const after = await beyond(toS, lastS! + aroundS);
  const known = new Set([...before, ...after].map(({ timeS }) => timeS));
  const within = (await look(fromS, toS, closeLooks)).filter(({ timeS }) => !known.has(timeS));
  return [...before, ...within, ...after];
}

/** Times in which the lifter was not seen for so long, so near to the reps (a rest and a rep), that one before, between or after them may have been missed. */
function unseenNear(reps: readonly Rep[], { samples }: Person, { timesS }: Course): { fromS: number; toS: number }[] {
  const nearS = median(reps.map((rep) => rep.endS - rep.startS)) + longestRestS(reps);
  const [fromS, toS] = [reps[0]!.startS - nearS, reps.at(-1)!.endS + nearS];
  const seenS = [timesS[0]!, ...samples.map(({ timeS }) => timeS), timesS.at(-1)!];
  const gaps = seenS.slice(1).map((nextS, i) => ({ fromS: seenS[i]!, toS: nextS }));
  return gaps.filter((gap) => gap.toS - gap.fromS > unseenS && gap.toS > fromS && gap.fromS < toS);
}

const longestRestS = (reps: readonly Rep[]) => round2(Math.max(0, ...reps.slice(1).map((r, i) => r.startS - reps[i]!.endS)));

/** The main person as the heavy model sees them over the whole clip, if that reads better as a lift than what was found first. */
async function closerLifter(
  first: Lifter | null,
  course: Course,
  watch: Pick<Watch, 'course' | 'lookClosely'>,
  asStill: (samples: Sample[]) => Sample[],
): Promise<Lifter | null> {
  const person = mainPersonOf(course);
  if (person === null) return first;
  const samples = asStill(await watch.lookClosely(person.id, 0, Number.POSITIVE_INFINITY, wholeLooks));
  const closer = lifterOf({ ...course, people: [{ id: person.id, samples }] });
  const [seen, before] = [closer?.readings[0], first?.readings[0]];
  const better = fitOf(seen) >= doubtfulFit && (seen?.score ?? 0) > (before?.score ?? 0);
  return closer !== null && better ? { ...closer, person } : first;
}

function withoutLift(facts: Facts, course: Course): Facts {
  const person = mainPersonOf(course);
  if (person === null) {
    const someone = course.people.some(({ samples }) => followedS(samples) > someoneShare * lengthS(course));
    const reason = someone ? 'lifter-unclear' : 'no-lifter';
    return { ...facts, people: unknown(reason), reps: unknown(reason) };
  }
  // not finding a lift is no proof that there is none
  return {
    ...facts,
    lift: doesAnother(person, course) ? otherLift : facts.lift,
    reps: unknown('no-lift'),
    people: peopleOf(course, person, person.samples, 0, Number.POSITIVE_INFINITY, 'other'),
  };
}

/** Height (lying: length) of a person in the picture in pixels, from nose or hands to feet. */
function extentPx(samples: readonly Sample[], lying: boolean): number {
  return quantile(
    samples.map(({ pose }) => {
      const rows = Array.from({ length: pose.points.length / pointWidth }, (_, row) => row);
      const span = (axis: number) => {
        const values = rows.map((row) => pose.points[row * pointWidth + axis]!);
        return Math.max(...values) - Math.min(...values);
      };
      // the crown is about 0.07 of the stature above the nose (Drillis and Contini 1966)
      return 1.07 * (lying ? Math.max(span(0), span(1)) : span(1));
    }),
    0.8,
  );
}

function peopleOf(
  course: Course,
  lifter: Person,
  samples: readonly Sample[],
  fromS: number,
  toS: number,
  lift: LiftId,
): Facts['people'] {
  const px = extentPx(samples, lift === 'bench');
  const clipS = lengthS({ timesS: course.timesS.filter((t) => t >= fromS && t <= toS) });
  const others = course.people.filter((p) => {
    if (p.id === lifter.id) return false;
    const there = p.samples.filter((s) => s.timeS >= fromS && s.timeS <= toS && s.pose.presence > 0.8);
    return followedS(there) > company.share * clipS && extentPx(there, false) > company.size * px;
  });
  return known(
    { count: 1 + others.length, lifterHeightShare: round2(px / course.heightPx) },
    { confidence: others.length === 0 ? 0.9 : 0.75 },
  );
}
