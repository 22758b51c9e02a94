import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { LiftId } from '../../src/facts/facts.ts';
import { lifts } from '../../src/lifts/index.ts';
import { rules } from '../../src/rules/index.ts';

function filesWith(folder: string, marker: RegExp): string[] {
  const at = new URL(`../../src/${folder}/`, import.meta.url);
  return readdirSync(at)
    .filter((file) => marker.test(readFileSync(new URL(file, at), 'utf8')))
    .map((file) => file.replace(/\.ts$/, ''));
}

const ids = (all: readonly { id: string }[]) => all.map(({ id }) => id).sort();

test('every rule file has its line in src/rules/index.ts', () => {
  expect(filesWith('rules', /= defineRule\(\{/).sort()).toEqual(ids(rules));
});

test('every lift file has its line in src/lifts/index.ts, and every lift id its file', () => {
  expect(filesWith('lifts', /: LiftData = \{/).sort()).toEqual(ids(lifts));
  expect(ids(lifts)).toEqual(LiftId.options.filter((id) => id !== 'other').sort());
});

test('rules are in order of use, no two alike, and none has a placeholder twice', () => {
  const order = rules.map(({ importance }) => importance);
  expect(order).toEqual([...new Set(order)].sort((a, b) => b - a));
  for (const rule of rules) for (const names of Object.values(rule.messages)) expect(new Set(names).size).toBe(names.length);
});

test('rules that speak of other rules name real ones', () => {
  for (const rule of rules) for (const id of rule.quietAfter ?? []) expect(ids(rules)).toContain(id);
});

test('every rule has its table test', () => {
  const tested = readdirSync(new URL('.', import.meta.url))
    .map((file) => readFileSync(new URL(file, import.meta.url), 'utf8'))
    .join('\n');
  for (const { id } of rules) {
    const name = id.replace(/-(\w)/g, (_, letter: string) => letter.toUpperCase());
    expect(tested).toContain(`testRule(${name},`);
  }
});
