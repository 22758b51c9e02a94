import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Ajv } from 'ajv';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { lifts } from '../../src/lifts/index.ts';
import { rules } from '../../src/rules/index.ts';
import { effectiveRule, messageTemplate } from '../../src/rules/settings.ts';
import { settingsJsonSchemas } from '../../src/settings/json-schema.ts';
import { loadRules, loadSettings, parseRules, parseSettings } from '../../src/settings/load.ts';
import { SettingsError } from '../../src/settings/settings-error.ts';

const configPath = (name: string) => fileURLToPath(new URL(`../../config/${name}`, import.meta.url));
const written = (name: string) => readFileSync(configPath(name), 'utf8');

function problemsOf(read: () => unknown): SettingsError['problems'] {
  try {
    read();
  } catch (error) {
    if (error instanceof SettingsError) return error.problems;
    throw error;
  }
  return [];
}

describe('config/rules.yaml as shipped', () => {
  const shipped = loadRules(configPath('rules.yaml'));

  test('changes nothing: it says what is built in', () => {
    for (const rule of rules) {
      for (const { id } of lifts)
        expect(effectiveRule(rule, id, shipped), `${rule.id} for ${id}`).toEqual(effectiveRule(rule, id, {}));
    }
  });

  test('lists every rule in the order of use, with every option', () => {
    expect(Object.keys(shipped)).toEqual(rules.map(({ id }) => id));
    for (const rule of rules) {
      const entry = shipped[rule.id]!;
      expect(entry.severity, rule.id).toBe(rule.severity);
      const perLift = lifts.map(({ id }) => Object.keys({ ...entry.options, ...entry.lifts?.[id]?.options }).sort());
      for (const names of perLift) expect(names, rule.id).toEqual(Object.keys(rule.options.shape).sort());
    }
  });

  test('is frozen all through', () => {
    expect(() => Object.assign(shipped, { view: {} })).toThrow(TypeError);
    expect(() => Object.assign(shipped.view!.options!, { fixAt: 0 })).toThrow(TypeError);
    expect(Object.isFrozen(shipped.view!.lifts!.press!.options!.zones)).toBe(true);
  });
});

describe('a rules file that cannot be used', () => {
  const cases: [string, string, { path: string; fix: string | RegExp }][] = [
    ['a misspelt rule', 'veiw: {}', { path: 'veiw', fix: 'Did you mean "view"?' }],
    ['a misspelt lift', 'view: { lifts: { sqat: {} } }', { path: 'view.lifts.sqat', fix: 'Did you mean "squat"?' }],
    ['a misspelt key', 'view: { sevrity: fix }', { path: 'view.sevrity', fix: 'Did you mean "severity"?' }],
    [
      'a misspelt option',
      'distance: { options: { maxMetres: 5 } }',
      { path: 'distance.options.maxMetres', fix: /Did you mean|Known here: wantedM, maxM/ },
    ],
    [
      'a misspelt option of a lift',
      'dead-time: { lifts: { press: { options: { maxLeadS: 5 } } } }',
      { path: 'dead-time.lifts.press.options.maxLeadS', fix: 'Did you mean "maxLeadInS"?' },
    ],
    [
      'a misspelt key in a list',
      'view: { options: { zones: [{ fromDeg: 1, toDeg: 9, aim: 5 }] } }',
      { path: 'view.options.zones.0.aimDeg', fix: 'Write a value of type number' },
    ],
    ['a misspelt message', 'view: { messages: { outside: hm } }', { path: 'view.messages.outside', fix: /outside-accepted/ }],
    ['nothing like it', 'qqqqqqqqqqqqqqqqqqqq: {}', { path: 'qqqqqqqqqqqqqqqqqqqq', fix: /^Known here: lifter-present, / }],
    ['an unknown severity', 'view: { severity: error }', { path: 'view.severity', fix: 'Use one of: off, advise, fix' }],
    ['a number too large', 'view: { options: { fixAt: 1.01 } }', { path: 'view.options.fixAt', fix: 'Use at most 1' }],
    ['a number too small', 'view: { options: { fixAt: -0.01 } }', { path: 'view.options.fixAt', fix: 'Use at least 0' }],
    [
      'a word for a number',
      'one-set: { options: { maxRestS: long } }',
      { path: 'one-set.options.maxRestS', fix: 'Write a value of type number' },
    ],
    [
      'a range turned round',
      'view: { options: { zones: [{ fromDeg: 90, toDeg: 30, aimDeg: 60 }] } }',
      { path: 'view.options.zones.0', fix: 'Change the value' },
    ],
    [
      'two ranges that overlap',
      'view: { options: { zones: [{ fromDeg: 0, toDeg: 30, aimDeg: 5 }, { fromDeg: 29, toDeg: 60, aimDeg: 45 }] } }',
      { path: 'view.options.zones.1', fix: 'Change the value' },
    ],
    [
      'a placeholder of another message',
      'view: { messages: { outside-accepted: "from {requestedClass}" } }',
      { path: 'view.messages.outside-accepted', fix: 'Change the value' },
    ],
    [
      'a brace left open',
      'view: { messages: { outside-accepted: "about {moveDeg" } }',
      { path: 'view.messages.outside-accepted', fix: 'Change the value' },
    ],
    ['a rule without content', 'view:', { path: 'view', fix: 'Write a value of type object' }],
    ['a list', '- view', { path: '', fix: 'Write a value of type object' }],
    ['broken YAML', 'cuts: {}\nview: [', { path: 'line 2', fix: 'Mend the YAML there' }],
    ['a rule twice', 'view: {}\nview: {}', { path: 'line 2', fix: 'Mend the YAML there' }],
    [
      'aliases that blow up',
      `a: &a [x, x]\nb: &b [${'*a, '.repeat(30)}]\nc: [${'*b, '.repeat(30)}]`,
      { path: '', fix: 'Write the values out' },
    ],
  ];
  test.each(cases)('%s', (_, text, { path, fix }) => {
    const problems = problemsOf(() => parseRules(text, 'rules.yaml'));
    const problem = problems.find((each) => each.path === path);
    expect(problem, JSON.stringify(problems)).toBeDefined();
    if (typeof fix === 'string') expect(problem!.fix).toBe(fix);
    else expect(problem!.fix).toMatch(fix);
  });

  test('all problems are told at once, each with the file', () => {
    const problems = problemsOf(() => parseRules('veiw: {}\ncuts: { severity: x }', 'rules.yaml'));
    expect(problems.map(({ path }) => path).sort()).toEqual(['cuts.severity', 'veiw']);
    expect(() => parseRules('veiw: {}', 'my rules.yaml')).toThrow(
      'my rules.yaml: veiw: unknown name "veiw". Did you mean "view"?',
    );
  });

  test('a file that is not there', () => {
    const [problem] = problemsOf(() => loadRules(configPath('no-such-file.yaml')));
    expect(problem).toEqual({ path: '', problem: 'the file cannot be read (ENOENT)', fix: 'Check its name and permissions' });
  });
});

test('a rules file of a moderator: one line changes one thing', () => {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-settings-'));
  try {
    const file = join(folder, 'rules.yaml');
    writeFileSync(
      file,
      'view:\n  lifts:\n    squat:\n      options: { fixAt: 0.95 }\n      messages: { outside-accepted: "About {moveDeg} degrees to your {wantedSide}, Tamsin says." }\n',
    );
    const settings = loadRules(file);
    const view = rules.find(({ id }) => id === 'view')!;
    const builtIn = effectiveRule(view, 'squat', {});
    expect(effectiveRule(view, 'squat', settings)).toEqual({ ...builtIn, options: { ...builtIn.options, fixAt: 0.95 } });
    expect(effectiveRule(view, 'bench', settings)).toEqual(effectiveRule(view, 'bench', {}));
    expect(messageTemplate(settings, 'view', 'outside-accepted', 'squat')).toBe(
      'About {moveDeg} degrees to your {wantedSide}, Tamsin says.',
    );
    expect(messageTemplate(settings, 'view', 'outside-accepted', 'bench')).toBeNull();
    expect(messageTemplate(settings, 'view', 'outside-accepted', null)).toBeNull();
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test('a rule’s own text for all lifts gives way to a lift’s', () => {
  const settings = parseRules('light: { messages: { dark: A }, lifts: { press: { messages: { dark: B } } } }', 'rules.yaml');
  expect(messageTemplate(settings, 'light', 'dark', 'press')).toBe('B');
  expect(messageTemplate(settings, 'light', 'dark', 'squat')).toBe('A');
  expect(messageTemplate(settings, 'light', 'backlit', 'press')).toBeNull();
});

describe('config/settings.yaml', () => {
  test('as shipped it says what is built in', () => {
    expect(loadSettings(configPath('settings.yaml'))).toEqual(parseSettings('', 'settings.yaml'));
  });

  test('limits of the brief', () => {
    expect(parseSettings('', 'settings.yaml').limits).toEqual({
      maxBytes: 250 * 1024 ** 2,
      maxDurationS: 600,
      maxPixels: 36e6,
      timeoutS: 120,
      maxMemoryMb: 1500,
    });
  });

  test('one limit can be set, and a wrong one is refused', () => {
    expect(parseSettings('limits: { timeoutS: 60 }', 'settings.yaml').limits).toMatchObject({ timeoutS: 60, maxDurationS: 600 });
    expect(problemsOf(() => parseSettings('limits: { timeoutS: 0 }', 'settings.yaml'))[0]).toMatchObject({
      path: 'limits.timeoutS',
      fix: 'Use more than 0',
    });
    expect(problemsOf(() => parseSettings('limits: { timeout: 60 }', 'settings.yaml'))[0]).toMatchObject({
      path: 'limits.timeout',
      fix: 'Did you mean "timeoutS"?',
    });
    expect(problemsOf(() => parseSettings('limit: {}', 'settings.yaml'))[0]).toMatchObject({
      path: 'limit',
      fix: 'Did you mean "limits"?',
    });
  });
});

describe('JSON Schemas, checked by Ajv', () => {
  const schemas = settingsJsonSchemas();

  test.each(Object.entries(schemas))('config/%s is as generated', (name, schema) => {
    expect(JSON.parse(written(name)), 'write it anew with npm run schemas').toEqual(JSON.parse(JSON.stringify(schema)));
  });

  test.each([
    ['rules.yaml', 'rules.schema.json'],
    ['settings.yaml', 'settings.schema.json'],
  ] as const)('%s is valid and names its schema', (file, name) => {
    const valid = new Ajv({ allErrors: true }).compile(schemas[name]);
    expect(valid(parse(written(file))), JSON.stringify(valid.errors)).toBe(true);
    expect(valid({ nonsense: 1 })).toBe(false);
    expect(written(file).split('\n')[0]).toBe(`# yaml-language-server: $schema=./${name}`);
  });

  test('they refuse what the loader refuses', () => {
    const valid = new Ajv().compile(schemas['rules.schema.json']);
    expect(valid({ view: { severity: 'error' } })).toBe(false);
    expect(valid({ view: { options: { fixAt: 2 } } })).toBe(false);
    expect(valid({ view: { lifts: { sqat: {} } } })).toBe(false);
    expect(valid({ view: { options: {} }, cuts: {} })).toBe(true);
  });
});
