import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts, HeightClass, LiftId, Rep } from '../../src/facts/facts.ts';
import { sideOf, viewClassOf } from '../../src/facts/view.ts';
import type { Judgement } from '../../src/judge/judgement.ts';

/** What a made clip shows; left out is unknown, but for the container. */
export interface Shown {
  durationS?: number;
  lift?: LiftId;
  reps?: Rep[];
  azimuthDeg?: number;
  spreadDeg?: number;
  heightClass?: HeightClass;
  distanceM?: number;
}

/** `count` reps of `repS` seconds, `gapS` apart, from `firstS` on. */
export function repsFrom(firstS: number, count: number, repS = 3, gapS = 1): Rep[] {
  return Array.from({ length: count }, (_, i) => {
    const startS = firstS + i * (repS + gapS);
    return { startS, turnS: startS + repS / 2, endS: startS + repS };
  });
}

/** Facts of a made clip. */
export function clipFacts(shown: Shown): Facts {
  const { durationS = 30, reps, azimuthDeg } = shown;
  const window = reps?.length ? { startS: reps[0]!.startS, endS: reps.at(-1)!.endS } : null;
  const silent = unknown<never>('not-measured');
  return {
    clip: known({
      durationS,
      widthPx: 1080,
      heightPx: 1920,
      rotationDeg: 0,
      fps: 30,
      variableFps: false,
      slowMotion: false,
      codec: 'h264',
      bytes: 9_000_000,
    }),
    cuts: known([]),
    steadiness: silent,
    light: silent,
    sharpness: silent,
    people: silent,
    orientation: known('upright'),
    lift: shown.lift ? known(shown.lift, { confidence: 0.95 }) : unknown('ambiguous'),
    reps: reps ? known(reps) : unknown('no-lift'),
    liftWindow: window ? known(window) : unknown('no-lift'),
    deadTime: window
      ? known({ leadInS: window.startS, tailS: Math.max(0, durationS - window.endS), longestRestS: 1 })
      : unknown('no-lift'),
    view:
      azimuthDeg === undefined
        ? unknown('hidden')
        : known({ azimuthDeg, class: viewClassOf(azimuthDeg), side: sideOf(azimuthDeg) }, { spread: shown.spreadDeg ?? 12 }),
    camera: {
      elevationDeg: silent,
      heightClass: shown.heightClass ? known(shown.heightClass) : silent,
      distanceM: shown.distanceM ? known(shown.distanceM, { spread: 0.4 }) : silent,
    },
    inFrame: {
      head: silent,
      shoulders: silent,
      elbows: silent,
      hands: silent,
      hips: silent,
      knees: silent,
      feet: silent,
      bar: silent,
    },
    obstruction: silent,
    barSpeed: { known: false, reason: 'not-measured' },
    caption: known({
      lift: shown.lift ?? null,
      loadKg: 100,
      loadUnit: 'kg',
      reps: reps?.length || null,
      sets: null,
      rpe: null,
      question: 'Is my depth ok?',
    }),
  };
}

/** A judgement with the given parts; clean and without wishes for the rest. */
export function judgementOf(parts: Partial<Judgement>): Judgement {
  return {
    verdict: 'clean',
    lift: 'squat',
    findings: [],
    cannotTell: [],
    trim: null,
    cleanByTrim: false,
    wanted: null,
    ...parts,
  };
}
