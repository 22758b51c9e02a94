import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts } from '../../src/facts/facts.ts';
import type { TurnDeg } from '../media/turn.ts';
import { joint, pointWidth } from '../pose/types.ts';
import { visibilityOf } from './course.ts';
import type { Lifter } from './lifter.ts';
import { median } from './series.ts';
import { fitOf } from './settle-lift.ts';
import type { turnNeeded } from './turn-course.ts';

/** By how much the played picture must be turned, null where nothing tells. */
type Turn = ReturnType<typeof turnNeeded>;

/** Least fit of a movement to a lift for the movement to tell which way is up. */
const upByLift = 0.5;

/** How sure a shin must be seen, what it says when it is not, and how upright it must be for the picture to be turned. */
const shin = { visibility: 0.3, unseen: 0.5, least: 0.5 };

/** How upright the shins stand in the picture, -1 to 1: in every lift the feet are on the floor and the knees above them. */
function shinsUpright({ person }: Lifter): number {
  const sides = [
    [joint.kneeL, joint.ankleL],
    [joint.kneeR, joint.ankleR],
  ] as const;
  const ups = person.samples.flatMap(({ pose }) =>
    sides.flatMap(([knee, ankle]) => {
      if (visibilityOf(pose, ankle) < shin.visibility || visibilityOf(pose, knee) < shin.visibility) return [];
      const [dx, dy] = [0, 1].map((axis) => pose.points[ankle * pointWidth + axis]! - pose.points[knee * pointWidth + axis]!);
      return [dy! / (Math.hypot(dx!, dy!) || 1)];
    }),
  );
  return ups.length === 0 ? shin.unseen : median(ups);
}

const scoreOf = (lifter: Lifter | null) => lifter?.readings[0]?.score ?? 0;

/**
 * The lifter in the upright course. Where nobody stands straight for long (bench), the bar and the shins tell which way is up: the bar goes up and
 * down, so the turn in which the movement reads best as a lift is the right one; as played unless another is clearly better. `closerAt`: the same
 * lifter as the heavy model sees them.
 */
export async function uprightLifter(
  turn: Turn,
  lifterAt: (turnDeg: TurnDeg) => Lifter | null,
  closerAt: (lifter: Lifter, turnDeg: TurnDeg) => Promise<Lifter | null>,
): Promise<{ turn: Turn; lifter: Lifter | null }> {
  if (turn !== null) {
    const turned = lifterAt(turn.turnDeg);
    const played = turn.turnDeg === 0 ? null : lifterAt(0);
    const seen = played?.readings[0];
    if (played === null || seen?.lift !== 'bench' || fitOf(seen) < upByLift || scoreOf(played) <= scoreOf(turned))
      return { turn, lifter: turned };
    // who lies straight on a bench stands straight in the turned picture; plates before one who stands fool the light model
    const [lying, standing] = [await closerAt(played, 0), await closerAt(turned ?? played, turn.turnDeg)];
    return scoreOf(lying) >= scoreOf(standing) ? { turn: { turnDeg: 0, sure: 0.8 }, lifter: played } : { turn, lifter: turned };
  }
  const tries = ([0, 90, 270] as const).map((turnDeg) => ({ turnDeg, lifter: lifterAt(turnDeg) }));
  const weight = ({ turnDeg, lifter }: (typeof tries)[number]) => {
    if (lifter === null || (turnDeg !== 0 && shinsUpright(lifter) < shin.least)) return 0;
    return scoreOf(lifter) * (turnDeg === 0 ? 2 : 1);
  };
  const best = tries.reduce((a, b) => (weight(b) > weight(a) ? b : a));
  if (fitOf(best.lifter?.readings[0]) < upByLift) return { turn: null, lifter: tries[0]!.lifter };
  return { turn: { turnDeg: best.turnDeg, sure: best.turnDeg === 0 ? 0.9 : 0.8 }, lifter: best.lifter };
}

/** How the picture is turned, as a fact. */
export function orientationOf(turn: Turn): Facts['orientation'] {
  if (turn === null) return unknown('ambiguous');
  const seen = { 0: 'upright', 90: 'sideways-left', 180: 'upside-down', 270: 'sideways-right' } as const;
  return known(seen[turn.turnDeg], { confidence: Math.round(100 * turn.sure) / 100 });
}
