import type { Language } from './language.ts';

/** What a rule looks at, for the member. */
export const ruleNames: Language['ruleNames'] = {
  'lifter-present': 'a lifter in the picture',
  orientation: 'which way up it plays',
  cuts: 'cuts',
  'lift-in-clip': 'a full rep',
  view: 'where the phone stands',
  'parts-in-frame': 'your body staying in the picture',
  obstruction: 'things in front of you',
  'camera-height': "the phone's height",
  distance: "the phone's distance",
  'lifter-size': 'your size in the picture',
  light: 'the light',
  steadiness: 'a steady phone',
  'dead-time': 'waiting before and after the lift',
  'one-set': 'one set in a clip',
  'playback-speed': 'playing speed',
  'one-lifter': 'who the lifter is',
  'lift-known': 'which lift it is',
  'as-captioned': 'caption and clip together',
  'clip-length': "the clip's length",
  sharpness: 'a sharp picture',
  resolution: 'enough picture dots',
  'frame-rate': 'enough pictures a second',
  'picture-shape': 'upright or sideways phone',
};

/** The same for coaches: of the lifter, not of you. */
export const ruleNamesForCoaches: Language['ruleNames'] = {
  ...ruleNames,
  'parts-in-frame': "the lifter's body staying in the picture",
  obstruction: 'things in front of the lifter',
  'lifter-size': "the lifter's size in the picture",
};

/** The same for moderators, who read it behind a rule's id. */
export const ruleNamesForModerators: Language['ruleNames'] = {
  ...ruleNamesForCoaches,
  'lifter-present': 'somebody is in the picture',
  'parts-in-frame': 'the whole body stays in the picture',
};
