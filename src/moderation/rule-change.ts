import { type Document, isMap, isNode, parseDocument, type YAMLMap } from 'yaml';
import type { LiftId } from '../facts/facts.ts';
import type { Severity } from '../rules/finding.ts';
import type { RulesSettings } from '../rules/settings.ts';

/** One setting of one rule. */
export interface RuleChange {
  rule: string;
  /** Only for this lift; null: for all, and what lifts have of their own for this setting goes. */
  lift: LiftId | null;
  /** `severity`, or the name of an option. */
  setting: string;
  /** Undefined: back to what is built in, or for one lift to what holds for all. */
  value: unknown;
}

type Entry = NonNullable<RulesSettings[string]>;
type Part = Pick<Entry, 'severity' | 'options'>;

function withSetting<P extends Part>(part: P, { setting, value }: Pick<RuleChange, 'setting' | 'value'>): P {
  if (setting === 'severity') return { ...part, severity: value as Severity | undefined };
  const { [setting]: _, ...others } = part.options ?? {};
  return { ...part, options: value === undefined ? others : { ...others, [setting]: value } };
}

/** Settings with one change, unchecked; the settings given stay as they are. */
export function withChange(settings: RulesSettings, change: RuleChange): RulesSettings {
  const entry: Entry = settings[change.rule] ?? {};
  const { lift } = change;
  const lifts =
    lift === null
      ? Object.fromEntries(
          Object.entries(entry.lifts ?? {}).map(([id, own]) => [id, withSetting(own ?? {}, { ...change, value: undefined })]),
        )
      : { ...entry.lifts, [lift]: withSetting(entry.lifts?.[lift] ?? {}, change) };
  return { ...settings, [change.rule]: { ...(lift === null ? withSetting(entry, change) : entry), lifts } };
}

/** The YAML of a rules file. Throws an Error where the text is no map of rules; the caller checks texts first. */
function documentOf(text: string): Document & { contents: YAMLMap } {
  const document = parseDocument(text);
  document.contents ??= document.createNode({}) as unknown as typeof document.contents;
  if (!isMap(document.contents)) throw new Error('a rules file is a map of rules');
  return document as Document & { contents: YAMLMap };
}

const written = (document: Document) => document.toString({ lineWidth: 0 });

/** Sets or takes out one value; a place on the way that holds no map becomes one. */
function put(document: Document, path: readonly string[], value: unknown): void {
  if (value === undefined) {
    if (document.hasIn(path)) document.deleteIn(path);
    return;
  }
  for (let i = 1; i < path.length; i += 1) {
    const node = document.getIn(path.slice(0, i), true);
    if (!isMap(node)) document.setIn(path.slice(0, i), document.createNode({}));
  }
  const [old, next] = [document.getIn(path, true), document.createNode(value)];
  if (isNode(old)) next.comment = old.comment ?? null; // a word of explanation behind the value
  document.setIn(path, next);
}

/** The text of a rules file with one change; comments stay. The result is to be checked. */
export function changedText(text: string, { rule, lift, setting, value }: RuleChange): string {
  const document = documentOf(text);
  const place = setting === 'severity' ? ['severity'] : ['options', setting];
  if (lift !== null) put(document, [rule, 'lifts', lift, ...place], value);
  else {
    put(document, [rule, ...place], value);
    const lifts = document.getIn([rule, 'lifts']);
    const ids = isMap(lifts) ? lifts.items.map(({ key }) => String(key)) : [];
    for (const id of ids) put(document, [rule, 'lifts', id, ...place], undefined);
  }
  return written(document);
}

/** The text of a rules file in which the rules that `pasted` names are as it says, and all others stay. The result is to be checked. */
export function mergedText(text: string, pasted: string): string {
  const document = documentOf(text);
  for (const { key, value } of documentOf(pasted).contents.items) document.set(String(key), value);
  return written(document);
}
