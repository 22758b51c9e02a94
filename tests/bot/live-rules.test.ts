import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createLiveRules } from '../../src/bot/live-rules.ts';
import { openLedger } from '../../src/ledger/open.ts';
import type { Ledger } from '../../src/ledger/port.ts';

const file = 'view: { severity: advise }';
const wren = { name: 'Wren', id: 'room/wren', reason: 'too dark in winter' };

describe('live rules', () => {
  let ledger: Ledger;
  const told: string[] = [];
  const log = { info() {}, warn() {}, error: (_: object, text: string) => void told.push(text) };
  const live = (text: string) => createLiveRules(ledger, text, { log, nowMs: () => 5 });
  beforeEach(async () => {
    ledger = await openLedger({ file: ':memory:' });
    told.length = 0;
  });
  afterEach(() => ledger.close());

  it('begin with the file', async () => {
    const rules = await live(file);
    expect(rules.inForce()).toEqual({ version: 1, text: file, settings: { view: { severity: 'advise' } } });
  });

  it('change without a restart, and stay changed after one', async () => {
    const rules = await live(file);
    const { version } = rules.inForce();
    const added = await ledger.rules.add('light: { severity: off }', version, wren, 6);
    expect(rules.inForce().version).toBe(version);
    await rules.refresh();
    expect(rules.inForce()).toMatchObject({ version: added, settings: { light: { severity: 'off' } } });
    const same = rules.inForce();
    await rules.refresh();
    expect(rules.inForce()).toBe(same);
    expect((await live(file)).inForce()).toMatchObject({ version: added, settings: { light: { severity: 'off' } } });
  });

  it('go back to the file when somebody has edited it', async () => {
    const { version } = (await live(file)).inForce();
    await ledger.rules.add('light: { severity: off }', version, wren, 6);
    const edited = await live(`${file} # once more`);
    expect(edited.inForce()).toMatchObject({ version: 3, settings: { view: { severity: 'advise' } } });
    expect((await live(`${file} # once more`)).inForce().version).toBe(3);
  });

  it('give way to the file when this program cannot read them any more', async () => {
    const { version } = (await live(file)).inForce();
    await ledger.rules.add('a-rule-of-old: { severity: fix }', version, wren, 6);
    expect((await live(file)).inForce()).toMatchObject({ version: 3, settings: { view: { severity: 'advise' } } });
    expect(told).toEqual(['the rules in force cannot be read any more, the file takes over']);
    expect(await ledger.rules.newest()).toMatchObject({
      author: 'config/rules.yaml',
      reason: 'version 2 could not be read any more',
    });
  });

  it('are refused when the file cannot be read', async () => {
    await expect(live('viw: { severity: fix }')).rejects.toThrow(/Did you mean "view"/);
  });
});
