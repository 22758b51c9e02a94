import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { differences } from '../../src/moderation/differences.ts';
import { changedText, mergedText, type RuleChange, withChange } from '../../src/moderation/rule-change.ts';
import { parseRules } from '../../src/settings/load.ts';

const file = readFileSync(new URL('../../config/rules.yaml', import.meta.url), 'utf8');
const change = (rule: string, setting: string, value: unknown, lift: RuleChange['lift'] = null): RuleChange => ({
  rule,
  lift,
  setting,
  value,
});

describe('a change of one setting', () => {
  it.each([
    ['', change('view', 'severity', 'advise'), [{ rule: 'view', lifts: 'all', setting: 'severity', from: 'fix', to: 'advise' }]],
    [file, change('view', 'fixAt', 0.8), [{ rule: 'view', lifts: 'all', setting: 'fixAt', from: 0.9, to: 0.8 }]],
    [file, change('view', 'fixAt', 0.8, 'squat'), [{ rule: 'view', lifts: ['squat'], setting: 'fixAt', from: 0.9, to: 0.8 }]],
    [
      file,
      change('lifter-size', 'fixBelow', 0.15),
      [
        { rule: 'lifter-size', lifts: ['squat', 'press'], setting: 'fixBelow', from: 0.22, to: 0.15 },
        { rule: 'lifter-size', lifts: ['bench'], setting: 'fixBelow', from: 0.1, to: 0.15 },
        { rule: 'lifter-size', lifts: ['deadlift'], setting: 'fixBelow', from: 0.2, to: 0.15 },
        { rule: 'lifter-size', lifts: [null], setting: 'fixBelow', from: undefined, to: 0.15 },
      ],
    ],
    ['distance: { options: { maxM: 8 } }', change('distance', 'maxM', undefined), [expect.objectContaining({ from: 8, to: 6 })]],
    ['view: { severity: fix }', change('view', 'severity', undefined, 'squat'), []],
    [
      'view: { lifts: { squat: { severity: off } } }',
      change('view', 'severity', 'advise'),
      [
        { rule: 'view', lifts: ['squat'], setting: 'severity', from: 'off', to: 'advise' },
        { rule: 'view', lifts: ['bench', 'press', 'deadlift'], setting: 'severity', from: 'fix', to: 'advise' },
      ],
    ],
  ])('%#: changes just that', (text, one, expected) => {
    const before = parseRules(text, 'rules');
    const after = parseRules(changedText(text, one), 'rules');
    expect(differences(before, after)).toEqual(expect.arrayContaining(expected));
    expect(differences(before, after)).toHaveLength(expected.length);
    expect(differences(after, parseRules(JSON.stringify(withChange(before, one)), 'rules'))).toEqual([]);
  });

  it('keeps the comments of the file', () => {
    const comments = (text: string) => text.match(/#.*$/gm)?.map((line) => line.trim());
    expect(comments(changedText(file, change('dead-time', 'maxLeadInS', 12)))).toEqual(comments(file));
    expect(changedText(file, change('dead-time', 'maxLeadInS', 12))).toContain('maxLeadInS: 12 # before the first rep');
  });

  it('takes only what the rules take', () => {
    expect(() => parseRules(changedText(file, change('view', 'fixAtt', 0.8)), 'rules')).toThrow(/Did you mean "fixAt"/);
    expect(() => parseRules(changedText(file, change('view', 'fixAt', 8)), 'rules')).toThrow(/at most 1/);
  });
});

describe('pasted rules', () => {
  it('take the place of the rules they name, and no others', () => {
    const pasted = 'light: { severity: off }\nview:\n  severity: advise # for now\n';
    const [before, after] = [parseRules(file, 'rules'), parseRules(mergedText(file, pasted), 'rules')];
    expect(differences(before, after)).toEqual([
      { rule: 'view', lifts: 'all', setting: 'severity', from: 'fix', to: 'advise' },
      { rule: 'light', lifts: 'all', setting: 'severity', from: 'fix', to: 'off' },
    ]);
    expect(after.light).toEqual({ severity: 'off' });
    expect(mergedText(file, pasted)).toContain('# for now');
  });

  it('may be anything in an empty file', () => {
    expect(parseRules(mergedText('', 'light: { severity: off }'), 'rules')).toEqual({ light: { severity: 'off' } });
    expect(() => mergedText(file, 'just words')).toThrow(/map/);
  });
});

it('texts of moderators are differences too', () => {
  const after = parseRules('light: { lifts: { bench: { messages: { dark: "More light, please." } } } }', 'rules');
  expect(differences(parseRules('', 'rules'), after)).toEqual([
    { rule: 'light', lifts: ['bench'], setting: 'text: dark', from: null, to: 'More light, please.' },
  ]);
  expect(differences(after, after)).toEqual([]);
  expect(differences(parseRules('', 'rules'), parseRules(file, 'rules'))).toEqual([]);
});
