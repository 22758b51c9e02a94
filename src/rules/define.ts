import type { z } from 'zod';
import type { Facts } from '../facts/facts.ts';
import type { LiftData } from '../lifts/index.ts';
import type { Severity } from './finding.ts';
import type { RequestedView, ViewRequest } from './request.ts';

/** Message ids of a rule with the names of their placeholders. */
export type Messages = Readonly<Record<string, readonly string[]>>;

type FoundOf<M extends Messages> = {
  [K in keyof M & string]: { kind: 'found'; message: K; numbers: Readonly<Record<M[K][number], number | string>>; sure: boolean };
}[keyof M & string];

type ResultOf<M extends Messages> = { kind: 'pass' } | { kind: 'cannot-tell'; reason: string } | FoundOf<M>;

/** What a rule may read. `lift` is the lift that the clip is judged as, null when it is not known; `request` applies to that lift. */
export interface RuleContext<O = Record<string, unknown>> {
  facts: Facts;
  lift: LiftData | null;
  options: O;
  request: ViewRequest | null;
}

interface Shape<O extends z.ZodObject, M extends Messages> {
  /** Equals the file's name. */
  id: string;
  /** One plain sentence for the moderator. */
  docs: string;
  severity: Severity;
  /** How useful the correction is, higher is said first. */
  importance: number;
  /** Every option has a default, unless `forLift` gives it. */
  options: O;
  messages: M;
  /** Options that come from the lift's own data when the settings do not say otherwise. */
  forLift?: (lift: LiftData) => Partial<z.output<O>>;
  /** Requests under which the rule does not run. */
  notFor?: readonly RequestedView[];
  /** Rules whose finding says the same, and better unless they name this one too, so this one keeps quiet where theirs is as grave. */
  quietAfter?: readonly string[];
}

/** A rule as the judge runs it: data, and one pure `check`. */
export interface Rule extends Shape<z.ZodObject, Messages> {
  check(ctx: RuleContext): ResultOf<Messages>;
}

/** States a rule; the message ids and placeholders that `check` returns are held to `messages` by the type. */
export function defineRule<O extends z.ZodObject, const M extends Messages>(
  rule: Shape<O, M> & { check(ctx: RuleContext<z.output<O>>): ResultOf<M> },
): Rule {
  return rule as unknown as Rule;
}

/** Nothing wrong. */
export const pass = { kind: 'pass' } as const;

/** The facts that the rule needs are unknown, or too unsure to decide. */
export function cannotTell(reason: string): { kind: 'cannot-tell'; reason: string } {
  return { kind: 'cannot-tell', reason };
}

/** Something to correct; as severe as the settings say. */
export function found<const K extends string, N>(
  message: K,
  numbers: N,
): { kind: 'found'; message: K; numbers: N; sure: boolean } {
  return { kind: 'found', message, numbers, sure: true };
}

/** Something worth a word but not sure or grave enough to send the clip back: never more than `advise`. */
export function advice<const K extends string, N>(
  message: K,
  numbers: N,
): { kind: 'found'; message: K; numbers: N; sure: boolean } {
  return { kind: 'found', message, numbers, sure: false };
}
