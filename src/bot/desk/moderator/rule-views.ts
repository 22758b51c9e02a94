import type { LiftId } from '../../../facts/facts.ts';
import { lifts } from '../../../lifts/index.ts';
import type { Share } from '../../../moderation/rejudge.ts';
import type { Rule } from '../../../rules/define.ts';
import { effectiveRule, type RulesSettings } from '../../../rules/settings.ts';
import type { RuleSaid } from '../../../wording/moderator-words.ts';

const liftIds = lifts.map(({ id }) => id);
const none: Share = { stops: 0, advises: 0 };

/** A rule as it stands for a lift; null: for all, where what differs by lift is left open. */
export function ruleSaid(
  rule: Rule,
  lift: LiftId | null,
  settings: RulesSettings,
  { clips, byRule }: { clips: number; byRule: ReadonlyMap<string, Share> },
): RuleSaid {
  const each = (lift === null ? liftIds : [lift]).map((id) => effectiveRule(rule, id, settings));
  const same = (values: unknown[]) => values.every((one) => JSON.stringify(one) === JSON.stringify(values[0]));
  const severities = each.map(({ severity }) => severity);
  const names = [...new Set(each.flatMap(({ options }) => Object.keys(options)))];
  const options = names.map((name) => {
    const values = each.map((one) => one.options[name]);
    return [name, same(values) ? values[0] : undefined] as const;
  });
  const severity = same(severities) ? (severities[0] ?? null) : null;
  return { rule: rule.id, severity, options, share: { clips, ...(byRule.get(rule.id) ?? none) } };
}
