import type { LiftId } from '../facts/facts.ts';
import { lifts } from '../lifts/index.ts';
import { rules } from '../rules/index.ts';
import { effectiveRule, messageTemplate, type RulesSettings } from '../rules/settings.ts';

/** One setting that differs between two rules files. */
export interface Difference {
  rule: string;
  /** `all`, or the lifts for which it differs; null stands for clips whose lift is not known. */
  lifts: 'all' | (LiftId | null)[];
  /** `severity`, an option's name, or `text: ` and a message's id. */
  setting: string;
  /** Undefined (an option) or null (a text) where there is none. */
  from: unknown;
  to: unknown;
}

const places: (LiftId | null)[] = [...lifts.map(({ id }) => id), null];

/** What each setting of a rule comes to for one lift. */
function settingsOf(rule: (typeof rules)[number], lift: LiftId | null, settings: RulesSettings): Map<string, unknown> {
  const { severity, options } = effectiveRule(rule, lift, settings);
  const texts = Object.keys(rule.messages).map((id) => [`text: ${id}`, messageTemplate(settings, rule.id, id, lift)] as const);
  return new Map<string, unknown>([['severity', severity], ...Object.entries(options), ...texts]);
}

function grouped(differing: (LiftId | null)[]): Difference['lifts'] {
  const named = differing.filter((lift) => lift !== null);
  if (named.length === lifts.length) return 'all';
  return named.length > 0 ? named : [null];
}

/** What differs between two checked rules files in what they come to, in the order of the rules; written differently is no difference. */
export function differences(before: RulesSettings, after: RulesSettings): Difference[] {
  const found: Difference[] = [];
  for (const rule of rules) {
    const byChange = new Map<string, Difference & { lifts: (LiftId | null)[] }>();
    for (const lift of places) {
      const [was, is] = [settingsOf(rule, lift, before), settingsOf(rule, lift, after)];
      for (const setting of new Set([...was.keys(), ...is.keys()])) {
        const [from, to] = [was.get(setting), is.get(setting)];
        const key = JSON.stringify([setting, from, to]);
        if (JSON.stringify(from) === JSON.stringify(to)) continue;
        const same = byChange.get(key) ?? { rule: rule.id, lifts: [], setting, from, to };
        same.lifts.push(lift);
        byChange.set(key, same);
      }
    }
    found.push(...[...byChange.values()].map((one) => ({ ...one, lifts: grouped(one.lifts) })));
  }
  return found;
}
