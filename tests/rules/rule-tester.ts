import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { z } from 'zod';
import { Facts, type LiftId } from '../../src/facts/facts.ts';
import { liftOf } from '../../src/lifts/index.ts';
import type { Rule } from '../../src/rules/define.ts';
import { rules } from '../../src/rules/index.ts';
import type { RequestedView } from '../../src/rules/request.ts';
import { effectiveRule } from '../../src/rules/settings.ts';

/** One clip for a rule. `lift` is what it is judged as (squat when left out, null for unknown); `request` is a coach's, for that lift. */
interface Case {
  name: string;
  facts: Facts;
  lift?: LiftId | null;
  options?: Record<string, unknown>;
  request?: RequestedView;
}

/** `sure: false` is a finding that never becomes more than advice. */
type FailCase = Case & { message: string; numbers: Record<string, number | string>; sure?: boolean };

/** The tables of one rule. `edges`: for every number among its options, two cases a hair on either side, with different outcomes. */
export interface Tables {
  pass: Case[];
  fail: FailCase[];
  cannotTell: (Case & { reason: string })[];
  edges: Record<string, [Case, Case]>;
  /** Number options that the judge reads for this rule; their two sides are tests named `option <rule>.<option>` in tests/judge/judge.test.ts. */
  readByJudge?: string[];
}

function outcomeOf(rule: Rule, { facts, lift = 'squat', options = {}, request }: Case) {
  Facts.parse(facts);
  const effective = effectiveRule(rule, lift, { [rule.id]: { options } });
  const asked = request === undefined ? null : { lift: lift ?? 'other', view: request };
  const result = rule.check({ facts, lift: liftOf(lift), options: effective.options, request: asked });
  if (result.kind === 'found') {
    expect(Object.keys(result.numbers).sort(), `placeholders of ${rule.id}/${result.message}`).toEqual(
      [...rule.messages[result.message]!].sort(),
    );
    for (const [name, value] of Object.entries(result.numbers)) {
      expect(typeof value === 'string' ? value !== '' : Number.isFinite(value), `${name} is filled`).toBe(true);
    }
  }
  return result;
}

/** Names of options that take a number. */
function numberOptions(rule: Rule): string[] {
  const schema = z.toJSONSchema(rule.options, { io: 'input' }) as { properties?: Record<string, { type?: string }> };
  return Object.entries(schema.properties ?? {}).flatMap(([name, { type }]) =>
    type === 'number' || type === 'integer' ? [name] : [],
  );
}

/** What is wrong with the tables themselves: double cases, messages that no case shows, thresholds without their two sides. */
export function faultsOf(rule: Rule, tables: Tables): string[] {
  const faults: string[] = [];
  const all: Case[] = [...tables.pass, ...tables.fail, ...tables.cannotTell];
  const inputs = new Map<string, string>();
  for (const { name, facts, lift, options, request } of all) {
    const input = JSON.stringify([facts, lift ?? null, lift === undefined, options, request]);
    const twin = inputs.get(input);
    if (twin !== undefined) faults.push(`"${name}" is the same case as "${twin}"`);
    inputs.set(input, name);
  }
  const names = all.map(({ name }) => name);
  for (const name of names) if (names.indexOf(name) !== names.lastIndexOf(name)) faults.push(`two cases are named "${name}"`);
  for (const id of Object.keys(rule.messages)) {
    if (!tables.fail.some(({ message }) => message === id)) faults.push(`no case shows message "${id}"`);
  }
  const judged = readFileSync(new URL('../judge/judge.test.ts', import.meta.url), 'utf8');
  for (const name of numberOptions(rule)) {
    const elsewhere = tables.readByJudge?.includes(name) && judged.includes(`'option ${rule.id}.${name}'`);
    if (tables.edges[name] === undefined && !elsewhere) faults.push(`no edge tests option "${name}" on both sides`);
  }
  for (const name of Object.keys(tables.edges))
    if (!(name in rule.options.shape)) faults.push(`edge of unknown option "${name}"`);
  return faults;
}

/** Runs a rule's tables, and refuses slack ones. */
export function testRule(rule: Rule, tables: Tables): void {
  describe(rule.id, () => {
    test('tables are complete and without doubles', () => expect(faultsOf(rule, tables)).toEqual([]));
    test('is in the index under its file name', () => {
      expect(rules).toContain(rule);
      expect(readdirSync(new URL('../../src/rules/', import.meta.url))).toContain(`${rule.id}.ts`);
    });
    test('bad options are refused', () => {
      expect(rule.options.safeParse({ ...effectiveRule(rule, 'squat', {}).options }).success).toBe(true);
      expect(rule.options.safeParse({ noSuchOption: 1 }).success).toBe(false);
      for (const name of Object.keys(rule.options.shape))
        expect(rule.options.safeParse({ [name]: { bad: true } }).success, name).toBe(false);
    });
    test.each(tables.pass)('passes: $name', (each) => expect(outcomeOf(rule, each)).toEqual({ kind: 'pass' }));
    test.each(tables.fail)('finds: $name', (each) =>
      expect(outcomeOf(rule, each)).toEqual({
        kind: 'found',
        message: each.message,
        numbers: each.numbers,
        sure: each.sure ?? true,
      }),
    );
    test.each(tables.cannotTell)('cannot tell: $name', (each) =>
      expect(outcomeOf(rule, each)).toEqual({ kind: 'cannot-tell', reason: each.reason }),
    );
    test.each(Object.entries(tables.edges))('both sides of %s', (_, [a, b]) => {
      const brief = (each: Case) => {
        const result = outcomeOf(rule, each);
        return result.kind === 'found' ? `${result.message} ${result.sure}` : result.kind;
      };
      expect(brief(a)).not.toBe(brief(b));
    });
  });
}
