import { type Detection, joint, type Pose, pointWidth, type Region } from './types.ts';

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
};

/** Everybody followed so far, and who is the main one. Changed in place by the functions of this file. */
export type Tracks = { all: Track[]; mainId: number | undefined; nextId: number };

/** Nobody followed yet. */
export const noTracks = (): Tracks => ({ all: [], mainId: undefined, nextId: 1 });

/** Those being followed now. */
export const followed = (tracks: Tracks): Track[] => tracks.all.filter((track) => track.state === 'followed');

/** Whether two regions show the same person: hips within a seventh of the side and sides within a factor of 1.6. */
export function sameRegion(a: Region, b: Region): boolean {
  const small = Math.min(a.sidePx, b.sidePx);
  const apart = Math.hypot(a.cx - b.cx, a.cy - b.cy);
  return apart < small / 7 && Math.max(a.sidePx, b.sidePx) < small * 1.6 && Math.abs(turn(a.angleRad, b.angleRad)) < Math.PI / 3;
}

/** Whether two poses lie on the same person: the body's joints are within 8 % of the region's side on average. */
export function samePose(a: Pose, b: Pose, sidePx: number): boolean {
  let sum = 0;
  for (const at of bodyJoints) sum += Math.hypot(a.points[at]! - b.points[at]!, a.points[at + 1]! - b.points[at + 1]!);
  return sum / bodyJoints.length < 0.08 * sidePx;
}

const bodyJoints = [
  joint.shoulderL,
  joint.shoulderR,
  joint.hipL,
  joint.hipR,
  joint.kneeL,
  joint.kneeR,
  joint.elbowL,
  joint.elbowR,
].map((row) => row * pointWidth);

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

/** The angle from a to b, -pi..pi. */
const turn = (a: number, b: number) => Math.atan2(Math.sin(b - a), Math.cos(b - a));

/**
 * Takes in what the detector saw: a known person (followed, or lost in that place) keeps the id, a new one gets the next id while there is
 * room. Gives the tracks to be looked at because of it: new, found again, not seen in this frame, or with a region that has drifted.
 */
export function takeDetections(
  tracks: Tracks,
  detections: Detection[],
  timeS: number,
  maxPeople: number,
): { track: Track; region: Region }[] {
  const looks: { track: Track; region: Region }[] = [];
  const taken = new Set<Track>();
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
    if (!back && followed(tracks).length >= maxPeople) continue;
    const track = back ?? addTrack(tracks, region, timeS);
    taken.add(track);
    if (!known) {
      track.state = 'followed';
      track.seenS = timeS;
      track.region = region;
      looks.push({ track, region });
    } else if (known.seenS < timeS || drifted(known.region, region)) looks.push({ track, region });
  }
  return looks;
}

const nearest = (tracks: Track[], region: Region): Track | undefined =>
  tracks.toSorted((a, b) => distance(a.region, region) - distance(b.region, region))[0];

const distance = (a: Region, b: Region) => Math.hypot(a.cx - b.cx, a.cy - b.cy);

/** Where a lost person may turn up again: within a third of the side, of about the same size. */
const samePlace = (a: Region, b: Region) =>
  distance(a, b) < Math.min(a.sidePx, b.sidePx) / 3 && Math.max(a.sidePx, b.sidePx) < 1.8 * Math.min(a.sidePx, b.sidePx);

const drifted = (a: Region, b: Region) =>
  distance(a, b) > 0.1 * b.sidePx ||
  Math.abs(Math.log(a.sidePx / b.sidePx)) > 0.25 ||
  Math.abs(turn(a.angleRad, b.angleRad)) > 0.5;

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
  track.region = track.pose ? smoothed(track.region, pose.next) : pose.next;
  track.pose = pose;
  track.seenS = timeS;
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
  return {
    cx: before.cx + share * (next.cx - before.cx),
    cy: before.cy + share * (next.cy - before.cy),
    sidePx: before.sidePx + 0.5 * (sidePx - before.sidePx),
    angleRad: before.angleRad + 0.5 * turn(before.angleRad, next.angleRad),
  };
}

/** Of two tracks on the same person keeps the older, unless the newer is clearly surer; forgets the other. */
export function mergeDoubles(tracks: Tracks): void {
  const order = followed(tracks).toSorted((a, b) => a.id - b.id);
  for (const [i, older] of order.entries()) {
    for (const newer of order.slice(i + 1)) {
      if (!older.pose || !newer.pose || !tracks.all.includes(older) || !tracks.all.includes(newer)) continue;
      if (!samePose(older.pose, newer.pose, Math.min(older.region.sidePx, newer.region.sidePx))) continue;
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
