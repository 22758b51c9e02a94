import { known } from '../src/facts/fact.ts';
import type { Facts, PartFacts } from '../src/facts/facts.ts';
import { viewClassOf } from '../src/facts/view.ts';

const seenAllThrough = known<PartFacts>({ share: 0.98, outsideShare: 0, lostAt: [] }, { confidence: 0.95 });

/** A camera place as a view fact. */
export function viewAt(
  azimuthDeg: number,
  sure: { spread?: number; confidence?: number } = { spread: 10, confidence: 0.97 },
): Facts['view'] {
  const side = azimuthDeg === 0 || azimuthDeg === 180 ? 'middle' : azimuthDeg > 0 ? 'left' : 'right';
  return known({ azimuthDeg, class: viewClassOf(azimuthDeg), side }, sure);
}

/** Facts of a well-filmed clip of a lift (two reps, 8 s, portrait); give what should differ. */
export function exampleFacts(lift: 'squat' | 'press' | 'deadlift' | 'bench', change: Partial<Facts> = {}): Facts {
  const azimuthDeg = { squat: 135, press: 90, deadlift: 50, bench: 45 }[lift];
  return {
    clip: known({
      durationS: 8,
      widthPx: 1080,
      heightPx: 1920,
      rotationDeg: 90,
      fps: 30,
      variableFps: false,
      slowMotion: false,
      codec: 'h264',
      bytes: 9_000_000,
    }),
    cuts: known([]),
    steadiness: known({ class: 'tripod', rmsPerS: 0.001 }, { confidence: 0.95 }),
    light: known({ mean: 0.5, dark: false, backlit: false }, { confidence: 0.95 }),
    sharpness: known(0.6),
    people: known({ count: 1, lifterHeightShare: lift === 'bench' ? 0.2 : 0.6 }, { confidence: 0.95 }),
    orientation: known('upright', { confidence: 0.99 }),
    lift: known(lift, { confidence: 0.95 }),
    reps: known(
      [
        { startS: 1, turnS: 2.2, endS: 3.5 },
        { startS: 4, turnS: 5.2, endS: 6.5 },
      ],
      { confidence: 0.95 },
    ),
    liftWindow: known({ startS: 1, endS: 6.5 }, { spread: 0.2 }),
    deadTime: known({ leadInS: 1, tailS: 1.5, longestRestS: 0.5 }, { spread: 0.2 }),
    view: viewAt(azimuthDeg),
    camera: {
      elevationDeg: known(12, { spread: 6 }),
      heightClass: known('head', { confidence: 0.9 }),
      distanceM: known(3, { spread: 0.4 }),
    },
    inFrame: {
      head: seenAllThrough,
      shoulders: seenAllThrough,
      elbows: seenAllThrough,
      hands: seenAllThrough,
      hips: seenAllThrough,
      knees: seenAllThrough,
      feet: seenAllThrough,
      bar: seenAllThrough,
    },
    obstruction: known({ kind: 'none', share: 0 }, { confidence: 0.95 }),
    barSpeed: { known: false, reason: 'not-measured' },
    caption: { known: false, reason: 'not-stated' },
    ...change,
  };
}
