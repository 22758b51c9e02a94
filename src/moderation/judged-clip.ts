import type { Facts } from '../facts/facts.ts';
import type { Verdict } from '../judge/judgement.ts';
import type { ViewRequest } from '../rules/request.ts';

/** One thing that somebody said about a judgement; kinds as the ledger keeps them. */
export interface Word {
  kind: 'appeal' | 'accepted' | 'unusable' | 'asked-view';
  rule: string | null;
}

/** What judging a stored clip again needs, and what people said of it, oldest first. */
export interface JudgedClip {
  id: string;
  facts: Facts;
  request: ViewRequest | null;
  words: readonly Word[];
  /** How it stands on the coaches' desk; null when it was never there. */
  desk: 'waiting' | 'taken' | 'done' | 'unusable' | null;
}

/** Whether a coach can use the clip, and who says so. */
export interface Truth {
  usable: boolean;
  by: 'coach' | 'member';
}

/**
 * What is known of a clip apart from the rules: a coach's word counts before a member's appeal, the desk before earlier words. Null when
 * nobody said anything. That a coach had asked for the view tells nothing about a rule.
 */
export function truthOf({ words, desk }: Pick<JudgedClip, 'words' | 'desk'>): Truth | null {
  if (desk === 'done' || desk === 'unusable') return { usable: desk === 'done', by: 'coach' };
  const coach = words.findLast(({ kind }) => kind === 'accepted' || kind === 'unusable');
  if (coach !== undefined) return { usable: coach.kind === 'accepted', by: 'coach' };
  return words.some(({ kind }) => kind === 'appeal') ? { usable: true, by: 'member' } : null;
}

/** Whether a verdict does right by a clip: what can be used goes on, what cannot goes back. */
export function isRight(verdict: Verdict, { usable }: Truth): boolean {
  return (verdict !== 'fix') === usable;
}
