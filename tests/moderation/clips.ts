import { known } from '../../src/facts/fact.ts';
import type { JudgedClip, Word } from '../../src/moderation/judged-clip.ts';
import { exampleFacts, viewAt } from '../facts-example.ts';

let made = 0;

/** A stored squat, well filmed but for what is given; `deg` is where the camera stood. */
export function clip(
  {
    deg = 135,
    heightShare = 0.6,
    lift = 'squat' as const,
  }: { deg?: number; heightShare?: number; lift?: 'squat' | 'press' } = {},
  more: Partial<JudgedClip> = {},
): JudgedClip {
  made += 1;
  const people = known({ count: 1, lifterHeightShare: heightShare }, { confidence: 0.95 });
  return {
    id: `clip-${made}`,
    facts: exampleFacts(lift, { view: viewAt(deg), people }),
    request: null,
    words: [],
    desk: null,
    ...more,
  };
}

/** Something that somebody said. */
export const word = (kind: Word['kind'], rule: string | null = null): Word => ({ kind, rule });
