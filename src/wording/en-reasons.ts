import type { Language } from './language.ts';

/** Why something could not be told. */
export const reasons: Language['reasons'] = {
  'not-measured': 'not measured',
  'no-lifter': 'no lifter found',
  'no-lift': 'no full rep found',
  'lifter-unclear': 'I could not tell who lifts',
  'too-few-frames': 'too little to look at',
  hidden: 'too much of you was hidden',
  'too-dark': 'too dark',
  'camera-moves': 'the phone moved',
  'slow-motion': 'the clip is in slow motion',
  'cut-inside': 'there is a cut inside the lift',
  ambiguous: 'it could be one or the other',
  'not-stated': 'not in the caption',
  'container-silent': 'the file does not say',
  'lift-unknown': 'it depends on the lift',
};
/** The same where a coach reads it. */
export const reasonsForCoaches: Language['reasons'] = { ...reasons, hidden: 'too much of the lifter was hidden' };

const again = 'Please film or save it again and post the new file.';
/** To the member whose clip could not be read, by error code. */
export const errors: Language['errors'] = {
  'clip-empty': `This file is empty, so something went wrong while it was saved or sent. ${again}`,
  'clip-missing': 'I could not find this clip any more. Please post it again.',
  'clip-no-permission': 'I was not allowed to open this clip. Please post it again; if that does not help, tell a moderator.',
  'clip-too-big': 'This file is bigger than I can take. Trim it to the set, or save it at 1080p, and post it again.',
  'clip-not-video': 'This file is not a video that I can read. Post the clip as your phone saved it (MP4 or MOV).',
  'clip-image-or-audio-only': 'This file holds no moving picture, only a still or sound. Post the video of the set.',
  'clip-playlist': 'This file only points at other files and holds no video itself. Post the video file.',
  'clip-codec-unknown': 'The video is packed in a way that I cannot read. Save it as MP4 (H.264) and post it again.',
  'clip-damaged': `The clip is damaged or cut off, so I could not read it to the end. ${again}`,
  'clip-too-long': 'This clip is too long for me to check. Trim it to one set and post it again.',
  'clip-too-many-pixels': 'The picture is larger than I can check. Save it at 1080p and post it again.',
  'clip-time-gaps': `The clip has long gaps in its time, so it cannot be played as filmed. ${again}`,
  'clip-took-too-long': 'Checking this clip took too long, so I stopped. Trim it to one set and post it again.',
  'clip-took-too-much-memory':
    'This clip needs more memory than I have. Save it at 1080p, trimmed to one set, and post it again.',
  'worker-died':
    'Something went wrong on my side while I checked this clip. I could not finish; please post it again in a while.',
};
