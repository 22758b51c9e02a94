import type { HeightClass, LiftId, Moment, Part } from '../facts/facts.ts';

/**
 * An accepted range of camera places around the lifter: |azimuth| in degrees, so it counts on both sides of the lifter.
 * `aimDeg` is where a member is told to stand.
 */
export interface Zone {
  fromDeg: number;
  toDeg: number;
  aimDeg: number;
}

/** A part that must stay in the picture at the named moments. `unsure`: when the part could not be followed, the clip is not sure to be clean. */
interface NeededPart {
  part: Part;
  at: Moment[];
  ifUnknown: 'unsure' | 'ignore';
}

/** What the project knows of one lift. Data only; every number can be set otherwise in config/rules.yaml. */
export interface LiftData {
  id: LiftId;
  /** What people type, lower case, words split by single spaces; plurals and verb forms are listed. */
  names: readonly string[];
  /** Accepted views, the preferred first. */
  zones: readonly Zone[];
  /** Camera height above the floor to ask for, metres from and to. */
  heightM: readonly [number, number];
  /** Height classes that spoil the clip, and those that are only worth a word. */
  heights: { fix: readonly HeightClass[]; advise: readonly HeightClass[] };
  /** Distance from camera to lifter to ask for, metres from and to. */
  distanceM: readonly [number, number];
  /** Smallest share of the picture's height that the lifter should fill: below `fix` nothing can be seen, below `advise` little. */
  heightShare: { fix: number; advise: number };
  parts: readonly NeededPart[];
  /** Way of the first half of a rep. */
  firstMove: 'down' | 'up';
  /** How to hold the phone; `either` when both serve. */
  shape: 'portrait' | 'landscape' | 'either';
}
