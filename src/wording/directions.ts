import { wrapDeg } from '../facts/view.ts';

/** Places around the lifter, in the lifter's own left and right; on the bench `front` is the foot end and `rear` the head end. */
export type Place = 'front' | 'front-left' | 'left' | 'rear-left' | 'rear' | 'rear-right' | 'right' | 'front-right';

/**
 * Which way round the lifter the phone walks: towards the front or the back on the side where it is, from the middle to a side,
 * or across the middle before or behind the lifter.
 */
export type Way = 'to-front' | 'to-rear' | 'to-left' | 'to-right' | 'across-front' | 'across-rear';

const around: Place[] = ['front', 'front-left', 'left', 'rear-left', 'rear', 'rear-right', 'right', 'front-right'];

/** The nearest of the eight places to an azimuth in degrees. */
export function placeOf(azimuthDeg: number): Place {
  const eighth = Math.round(wrapDeg(azimuthDeg) / 45);
  return around[(eighth + 8) % 8]!;
}

/**
 * The shortest walk around the lifter from one azimuth to another, degrees. `turnDeg` is 0..180.
 */
export function walkBetween(nowDeg: number, wantedDeg: number): { turnDeg: number; way: Way } {
  const now = wrapDeg(nowDeg);
  const wanted = wrapDeg(wantedDeg);
  const turn = wrapDeg(wanted - now);
  return { turnDeg: Math.abs(turn), way: wayOf(now, turn) };
}

function wayOf(now: number, turn: number): Way {
  // 22.5: half a view class (src/facts/view.ts); 10 past the middle still counts as there. Chosen.
  // From nearly the middle a walk goes to a side, even when it is also further back or to the front.
  if (Math.abs(now) <= 22.5) return turn > 0 ? 'to-left' : 'to-right';
  if (Math.abs(now) >= 157.5) return turn > 0 ? 'to-right' : 'to-left';
  const end = now + turn;
  if (Math.abs(end) > 190) return 'across-rear';
  if (Math.sign(end) !== Math.sign(now) && Math.abs(end) > 10) return 'across-front';
  return Math.abs(end) > Math.abs(now) ? 'to-rear' : 'to-front';
}
