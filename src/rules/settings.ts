import { z } from 'zod';
import { LiftId } from '../facts/facts.ts';
import { liftOf } from '../lifts/index.ts';
import type { Rule } from './define.ts';
import { Severity } from './finding.ts';

const placeholder = /\{([^{}]*)\}/g;

/** Templates by message id; each may use only that message's own placeholders, in braces. */
function templatesOf(rule: Rule) {
  const one = (id: string, names: readonly string[]) =>
    z
      .string()
      .min(1)
      .max(600)
      .superRefine((text, issues) => {
        for (const [, name] of text.matchAll(placeholder)) {
          if (names.includes(name!)) continue;
          const may = names.length === 0 ? 'this message has none' : `it may use ${names.map((n) => `{${n}}`).join(', ')}`;
          issues.addIssue({ code: 'custom', message: `message "${id}" has no placeholder {${name}}: ${may}` });
        }
        if (/[{}]/.test(text.replace(placeholder, '')))
          issues.addIssue({ code: 'custom', message: 'a brace without its partner' });
      })
      .optional();
  return z.strictObject(Object.fromEntries(Object.entries(rule.messages).map(([id, names]) => [id, one(id, names)]))).optional();
}

/** Schema of one rule's entry in the rules file: what is left out keeps the rule's default. */
function entryOf(rule: Rule) {
  const options = rule.options.meta({ description: rule.docs }).optional();
  const perLift = z.strictObject({ severity: Severity.optional(), options, messages: templatesOf(rule) });
  return z.strictObject({
    severity: Severity.optional(),
    options,
    messages: templatesOf(rule),
    lifts: z.partialRecord(LiftId, perLift).optional(),
  });
}

/** Schema of the whole rules file, one key a rule. */
export function rulesSchemaOf(rules: readonly Rule[]) {
  return z.strictObject(Object.fromEntries(rules.map((rule) => [rule.id, entryOf(rule).optional()])));
}

interface Entry {
  readonly severity?: Severity | undefined;
  readonly options?: Readonly<Record<string, unknown>> | undefined;
  /** Moderator's texts by message id. */
  readonly messages?: Readonly<Record<string, string | undefined>> | undefined;
}

/** A rules file as it was written (checked, defaults not filled in); `{}` is all defaults. Keyed by rule id. */
export type RulesSettings = Readonly<
  Record<string, (Entry & { readonly lifts?: Readonly<Partial<Record<LiftId, Entry | undefined>>> | undefined }) | undefined>
>;

/** What a rule goes by for one lift. */
interface Effective {
  severity: Severity;
  options: Record<string, unknown>;
}

/** Worked out once for each settings object, since judging again runs over thousands of clips. */
const worked = new WeakMap<RulesSettings, Map<string, Effective>>();

/**
 * Severity and options of a rule for a lift: rule default, then the lift's data, then the rule's entry, then its entry for the lift.
 * Settings are taken as fixed once used; change them by making new ones.
 */
export function effectiveRule(rule: Rule, lift: LiftId | null, settings: RulesSettings): Effective {
  const byKey = worked.get(settings) ?? new Map<string, Effective>();
  worked.set(settings, byKey);
  const key = `${rule.id} ${lift}`;
  const effective = byKey.get(key) ?? workOut(rule, lift, settings);
  byKey.set(key, effective);
  return effective;
}

function workOut(rule: Rule, lift: LiftId | null, settings: RulesSettings): Effective {
  const entry = settings[rule.id];
  const own = lift === null ? undefined : entry?.lifts?.[lift];
  const data = liftOf(lift);
  const fromLift = data === null ? {} : rule.forLift?.(data);
  return {
    severity: own?.severity ?? entry?.severity ?? rule.severity,
    options: rule.options.parse({ ...fromLift, ...entry?.options, ...own?.options }),
  };
}

/** The moderator's own text for a message, `{placeholder}` in braces, or null when the language file's text stands. */
export function messageTemplate(settings: RulesSettings, rule: string, message: string, lift: LiftId | null): string | null {
  const entry = settings[rule];
  return (lift === null ? undefined : entry?.lifts?.[lift]?.messages?.[message]) ?? entry?.messages?.[message] ?? null;
}
