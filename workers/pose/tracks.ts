import { between, distance, drifted, samePlace, samePose, sameRegion, turn } from './regions.ts';
import { type Detection, isOver, joint, type Pose, pointWidth, type Region } from './types.ts';

/** Settings of a tracker; times in seconds. */
export type TrackOptions = {
  /** Most people followed at once; smaller ones are left out. */
  maxPeople: number;
  /** The detector looks at the picture this often, and at once when somebody is lost or nobody is followed. */
  detectEveryS: number;
  /** People other than the main one are looked at in every n-th frame. */
  othersEvery: number;
  /** Score from which the detector is believed. */
  threshold: number;
  /** Score for a second look when nobody is followed. */
  retryThreshold: number;
  /** Presence (0..1) below which a frame counts as a miss. */
  minPresence: number;
  /** A person missed for longer is lost, and found again under the same id when seen in the same place. */
  lostAfterS: number;
};

/** Settings that suit a still camera and about 15 frames a second. */
export const defaultTrackOptions: TrackOptions = {
  maxPeople: 4,
  detectEveryS: 1,
  othersEvery: 3,
  threshold: 0.5,
  retryThreshold: 0.15,
  minPresence: 0.3,
  lostAfterS: 0.7,
};

/** A person followed through the clip. */
export type Track = {
  id: number;
  /** Where to look in the next frame. */
  region: Region;
  state: 'followed' | 'lost';
  /** The last pose believed; undefined until the first one. */
  pose: Pose | undefined;
  firstS: number;
  seenS: number;
  /** Slowly moving mean of presence, 0..1. */
  presence: number;
  /** Slowly moving mean of the hands', shoulders' and hips' vertical speed, region sides a second. */
  movement: number;
  /** Slowly moving mean of the region, and when it was last near to it. */
  usual: Region;
  homeS: number;
  /** How far the region went at once of late, shares of its side and of its size; fades from look to look. */
  leap: number;
  /** The region before it went so far. */
  place: Region;
  /** Ids of those whom the detector saw elsewhere in the same picture: other people for sure. */
  apart: Set<number>;
};

/** Everybody followed so far, and who is the main one. Changed in place by the functions of this file. */
export type Tracks = { all: Track[]; mainId: number | undefined; nextId: number };

/** Nobody followed yet. */
export const noTracks = (): Tracks => ({ all: [], mainId: undefined, nextId: 1 });

/** Those being followed now. */
export const followed = (tracks: Tracks): Track[] => tracks.all.filter((track) => track.state === 'followed');

/**
 * Whether the detector means a followed person: the same region, or the same head with the hips not far (bent people's hips are guessed).
 * A track that shrank to a part of a person counts too; somebody much smaller near the head is another person.
 */
export function sees(detection: Detection, track: Track): boolean {
  if (sameRegion(track.region, detection.region)) return true;
  if (!track.pose) return false;
  const { box, hip, region } = detection;
  if (region.sidePx < 0.6 * track.region.sidePx) return false;
  const sidePx = Math.max(track.region.sidePx, region.sidePx);
  const x = track.pose.points[joint.nose * pointWidth]!;
  const y = track.pose.points[joint.nose * pointWidth + 1]!;
  const head = Math.hypot(box.x + box.widthPx / 2 - x, box.y + box.heightPx / 2 - y);
  return head < 0.1 * sidePx && Math.hypot(hip.x - track.region.cx, hip.y - track.region.cy) < 0.25 * sidePx;
}

/**
 * Takes in what the detector saw: a known person (followed, or lost in that place) keeps the id, a new one gets the next id while there is
 * room. Who is found at home while somebody else was followed from there keeps the id too (`strayedS`: since when). Gives the tracks to be looked at
 * because of it: new, found again, not seen in this frame, or with a region that has drifted.
 */
export function takeDetections(
  tracks: Tracks,
  detections: Detection[],
  timeS: number,
  maxPeople: number,
): { track: Track; region: Region; strayedS?: number }[] {
  const looks: { track: Track; region: Region; strayedS?: number }[] = [];
  const taken = new Map<Track, Region>();
  for (const detection of detections) {
    const { region } = detection;
    const free = tracks.all.filter((track) => !taken.has(track));
    const known = nearest(
      free.filter((t) => t.state === 'followed' && sees(detection, t)),
      region,
    );
    const back =
      known ??
      nearest(
        free.filter((t) => t.state === 'lost' && samePlace(t.region, region)),
        region,
      );
    const strayed = back ? undefined : followed(tracks).find((t) => hasLeft(t) && isHome(t, region));
    if (strayed) {
      looks.push({ track: strayed, region, strayedS: strayed.homeS });
      // somebody else was followed out of their place
      if (followed(tracks).length < maxPeople)
        tracks.all.push({ ...strayed, id: tracks.nextId++, firstS: timeS, apart: new Set() });
      Object.assign(strayed, { region, usual: region, homeS: timeS, seenS: timeS });
      taken.set(strayed, region);
      continue;
    }
    if (!back && followed(tracks).length >= maxPeople) continue;
    const track = back ?? addTrack(tracks, region, timeS);
    for (const [other, there] of taken) {
      if (samePlace(there, region)) continue;
      other.apart.add(track.id);
      track.apart.add(other.id);
    }
    taken.set(track, region);
    if (!known) {
      track.state = 'followed';
      track.seenS = timeS;
      track.region = region;
      looks.push({ track, region });
    } else if (known.seenS < timeS || drifted(known.region, region)) looks.push({ track, region });
  }
  return looks;
}

/** Who is so far from where they usually are, shares of the region's side, may have been taken for somebody else; who is found so near to it is at home. Chosen. */
const home = { leftShare: 0.25, nearShare: 0.15, size: 1.4, sinceS: 1.5 };

/** Whether a track that stayed in a place for long is elsewhere now. */
export const hasLeft = ({ region, usual, firstS, seenS }: Track): boolean =>
  seenS - firstS > home.sinceS && distance(region, usual) > home.leftShare * usual.sidePx;

const isHome = ({ usual }: Track, found: Region) =>
  distance(found, usual) < home.nearShare * usual.sidePx && Math.abs(Math.log(found.sidePx / usual.sidePx)) < Math.log(home.size);

const nearest = (tracks: Track[], region: Region): Track | undefined =>
  tracks.toSorted((a, b) => distance(a.region, region) - distance(b.region, region))[0];

function addTrack(tracks: Tracks, region: Region, timeS: number): Track {
  const track: Track = {
    id: tracks.nextId++,
    region,
    state: 'followed',
    pose: undefined,
    firstS: timeS,
    seenS: timeS,
    presence: 0,
    movement: 0,
    usual: region,
    homeS: timeS,
    leap: 0,
    place: region,
    apart: new Set(),
  };
  tracks.all.push(track);
  return track;
}

/** Takes in a pose; a miss keeps the region. A track that never had a pose is forgotten on its first miss. Gives whether it was seen. */
export function takePose(tracks: Tracks, track: Track, pose: Pose, timeS: number, options: TrackOptions): boolean {
  if (pose.presence < options.minPresence) {
    if (!track.pose) tracks.all.splice(tracks.all.indexOf(track), 1);
    else if (timeS - track.seenS > options.lostAfterS) track.state = 'lost';
    return false;
  }
  const passedS = timeS - track.seenS;
  if (track.pose && passedS > 0)
    track.movement += 0.1 * (verticalSpeed(track.pose, pose, passedS) / track.region.sidePx - track.movement);
  track.presence = track.pose ? track.presence + 0.1 * (pose.presence - track.presence) : pose.presence;
  const { sidePx } = track.region;
  const shift = distance(track.region, pose.next) / sidePx + Math.abs(Math.log(pose.next.sidePx / sidePx));
  if (track.leap < leaps.calm) track.place = track.region;
  track.leap = track.pose ? Math.max(shift, leaps.fading * track.leap) : 0;
  track.region = track.pose ? smoothed(track.region, pose.next) : pose.next;
  const isTurned = isOver(track.usual) && !isOver(track.region);
  track.usual = track.pose && !isTurned ? between(track.usual, track.region, usualRate) : track.region;
  track.pose = pose;
  track.seenS = timeS;
  if (!hasLeft(track)) track.homeS = timeS;
  return true;
}

const movingJoints = [joint.wristL, joint.wristR, joint.shoulderL, joint.shoulderR, joint.hipL, joint.hipR].map(
  (row) => row * pointWidth + 1,
);

/** Picture pixels a second. */
function verticalSpeed(before: Pose, now: Pose, passedS: number): number {
  const sum = movingJoints.reduce((total, at) => total + Math.abs(now.points[at]! - before.points[at]!), 0);
  return sum / movingJoints.length / passedS;
}

/** Small changes of a region are halved, large ones followed; the side changes by a quarter at most. */
function smoothed(before: Region, next: Region): Region {
  const share = distance(before, next) > 0.08 * before.sidePx ? 1 : 0.5;
  const sidePx = Math.min(1.25, Math.max(0.8, next.sidePx / before.sidePx)) * before.sidePx;
  return between(before, { ...next, sidePx }, 0.5, share);
}

/** How fast the usual region follows, of each look: a third of it after about a second. Chosen. */
const usualRate = 0.03;
/** Who is tilted so far from how they usually are, radians, may have been misread. Chosen. */
const tiltRad = Math.PI / 3;

/**
 * Where to look again at somebody whose pose may have been turned over, as by plates that hide head and trunk: as they usually are, and never upside
 * down; null where nothing speaks for it.
 */
export function turnedBack({ region, usual }: Track): Region | null {
  const upright = isOver(usual) ? { ...usual, angleRad: 0 } : usual;
  return Math.abs(turn(region.angleRad, upright.angleRad)) < tiltRad ? null : upright;
}

/** Below such a leap a track stays with its person; what is left of a leap at the next look. Chosen. */
const leaps = { calm: 0.15, fading: 0.8 };

/**
 * Of two tracks on the same person keeps the older, unless the newer is clearly surer; forgets the other. Where they are known for two people one of
 * them has leapt to the other's when they crossed: that one is lost, in the place where it was before.
 */
export function mergeDoubles(tracks: Tracks): void {
  const order = followed(tracks).toSorted((a, b) => a.id - b.id);
  for (const [i, older] of order.entries()) {
    for (const newer of order.slice(i + 1)) {
      if (!older.pose || !newer.pose || !tracks.all.includes(older) || !tracks.all.includes(newer)) continue;
      if (older.state === 'lost' || newer.state === 'lost') continue;
      if (!samePose(older.pose, newer.pose, Math.min(older.region.sidePx, newer.region.sidePx))) continue;
      if (older.apart.has(newer.id)) {
        const leapt = older.leap > newer.leap ? older : newer;
        Object.assign(leapt, { state: 'lost', region: leapt.place, leap: 0 });
        continue;
      }
      if (newer.presence > older.presence + 0.2) Object.assign(older, { ...newer, id: older.id, firstS: older.firstS });
      tracks.all.splice(tracks.all.indexOf(newer), 1);
    }
  }
}

/** Picks the main person: large, well seen and moving up and down; another one has to be a third better to take over. */
export function chooseMain(tracks: Tracks): void {
  const people = followed(tracks).filter((track) => track.pose);
  const best = people.toSorted((a, b) => weight(b) - weight(a))[0];
  const main = people.find((track) => track.id === tracks.mainId);
  if (best && (!main || weight(best) > weight(main) * 1.33)) tracks.mainId = best.id;
}

const seenJoints = [joint.wristL, joint.wristR, joint.kneeL, joint.kneeR, joint.ankleL, joint.ankleR].map(
  (row) => row * pointWidth + 3,
);

function weight(track: Track): number {
  const seen = seenJoints.reduce((sum, at) => sum + track.pose!.points[at]!, 0) / seenJoints.length;
  return track.region.sidePx * track.presence * (0.5 + seen) * (1 + Math.min(1, track.movement * 5));
}
