import type { Facts } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';

const placeRules = new Set(['view', 'camera-height', 'distance', 'lifter-size', 'parts-in-frame']);

/** The pictures that help with these findings: where to stand when the place is to be changed, the timeline when a part is cut. */
export function picturesThatHelp(judgement: Judgement, facts: Facts): ('placement' | 'timeline')[] {
  const place = judgement.wanted !== null && judgement.findings.some((f) => f.severity === 'fix' && placeRules.has(f.rule));
  const time = judgement.trim !== null && facts.clip.known;
  return [...(place ? (['placement'] as const) : []), ...(time ? (['timeline'] as const) : [])];
}
