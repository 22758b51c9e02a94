import { asCaptioned } from './as-captioned.ts';
import { cameraHeight } from './camera-height.ts';
import { clipLength } from './clip-length.ts';
import { cuts } from './cuts.ts';
import { deadTime } from './dead-time.ts';
import type { Rule } from './define.ts';
import { distance } from './distance.ts';
import { frameRate } from './frame-rate.ts';
import { liftInClip } from './lift-in-clip.ts';
import { liftKnown } from './lift-known.ts';
import { lifterPresent } from './lifter-present.ts';
import { lifterSize } from './lifter-size.ts';
import { light } from './light.ts';
import { obstruction } from './obstruction.ts';
import { oneLifter } from './one-lifter.ts';
import { oneSet } from './one-set.ts';
import { orientation } from './orientation.ts';
import { partsInFrame } from './parts-in-frame.ts';
import { pictureShape } from './picture-shape.ts';
import { playbackSpeed } from './playback-speed.ts';
import { resolution } from './resolution.ts';
import { sharpness } from './sharpness.ts';
import { steadiness } from './steadiness.ts';
import { view } from './view.ts';

/** All rules, the most useful correction first. */
export const rules: readonly Rule[] = [
  lifterPresent,
  orientation,
  cuts,
  liftInClip,
  view,
  partsInFrame,
  obstruction,
  cameraHeight,
  distance,
  lifterSize,
  light,
  steadiness,
  deadTime,
  oneSet,
  playbackSpeed,
  oneLifter,
  liftKnown,
  asCaptioned,
  clipLength,
  sharpness,
  resolution,
  frameRate,
  pictureShape,
];
