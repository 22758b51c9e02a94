import { type Fact, unknown } from '../../src/facts/fact.ts';
import type { ClipFacts, Facts } from '../../src/facts/facts.ts';

/** Facts of a clip of which only the container was read; a stage replaces what it measures. */
export function unmeasured(clip: Fact<ClipFacts>): Facts {
  const none = () => unknown<never>('not-measured');
  return {
    clip,
    cuts: none(),
    steadiness: none(),
    light: none(),
    sharpness: none(),
    people: none(),
    orientation: none(),
    lift: none(),
    reps: none(),
    liftWindow: none(),
    deadTime: none(),
    view: none(),
    camera: { elevationDeg: none(), heightClass: none(), distanceM: none() },
    inFrame: {
      head: none(),
      shoulders: none(),
      elbows: none(),
      hands: none(),
      hips: none(),
      knees: none(),
      feet: none(),
      bar: none(),
    },
    obstruction: none(),
    barSpeed: none(),
    caption: unknown('not-stated'),
  };
}
