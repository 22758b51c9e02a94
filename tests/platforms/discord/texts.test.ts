import { describe, expect, it } from 'vitest';
import { loginWaitMs } from '../../../src/platforms/discord/gateway.ts';
import { cleanText, contentsOf, markIn, markLength, postName, shorten } from '../../../src/platforms/discord/text.ts';
import { readable } from './readable.ts';

describe('texts on Discord', () => {
  it.each([
    'plain words, 100 kg x 5 @ RPE 8',
    '*a* _b_ __c__ ~~d~~ ||e|| `f` ```g```',
    '***h*** **',
    '# i\n## j\n-# k\n> l\n>>> m\n- n\n* o\n+ p\n1. q\n2) r',
    '[s](https://example.org) <https://example.org> https://example.org/a_b_c',
    '<@1> <@!2> <@&3> <#4> @everyone @here <:plate:5> <a:plate:5> <t:1700000000:R> :fire:',
    String.raw`\*t\* \\ u\_v ¯\_(ツ)_/¯`,
    '  - indented\n   # indented',
  ])('reads as typed: %j', (text) => {
    expect(contentsOf(text, 0).map(readable)).toEqual([text]);
  });

  it('keeps bold and escapes inside it', () => {
    expect(contentsOf('**Film _again_.** Then **lock** out', 0)).toEqual([String.raw`**Film \_again\_.** Then **lock** out`]);
  });

  it('keeps links to Discord messages and breaks others', () => {
    const own = 'https://discord.com/channels/1/22/333';
    expect(contentsOf(`${own} https://discord.com.example.org/channels/1/2`, 0)).toEqual([
      `${own} https\\://discord.com.example.org/channels/1/2`,
    ]);
  });

  it('drops control, bidi and invisible signs, keeps line breaks and joined emoji', () => {
    expect(cleanText('a\u202Eb\u2066c\u0000d\u200Be\u2060f\uFEFFg\r\nh\ti\uD800j')).toBe('abcdefg\nh ij');
    expect(cleanText('👩‍🏫 🏴󠁧󠁢󠁥󠁮󠁧󠁿')).toBe('👩‍🏫 🏴󠁧󠁢󠁥󠁮󠁧󠁿');
  });

  it.each([
    [1979, 1],
    [1980, 1],
    [1981, 2],
  ])('splits at the limit: %i signs, room for the mark kept, make %i parts', (length, parts) => {
    const contents = contentsOf('x'.repeat(length), markLength);
    expect(contents).toHaveLength(parts);
    expect(contents.join('')).toHaveLength(length);
    for (const content of contents) expect(content.length + markLength).toBeLessThanOrEqual(2000);
  });

  it('never cuts inside an escape or a character', () => {
    const contents = contentsOf('😀_'.repeat(1500), 0);
    expect(contents.length).toBeGreaterThan(2);
    for (const content of contents) expect(content).toMatch(/^(?:😀|\\_)+$/u);
    expect(contents.map(readable).join('')).toBe('😀_'.repeat(1500));
  });

  it('names posts by key: stable, different, found again, not forgeable by text', () => {
    const name = postName('801//answer-1#0');
    expect(postName('801//answer-1#0')).toEqual(name);
    expect(name.mark).toHaveLength(markLength);
    expect(name.nonce.length).toBeLessThanOrEqual(25);
    expect(new Set(Array.from({ length: 2000 }, (_, i) => postName(`k${i}`).mark)).size).toBe(2000);
    expect(markIn(`some words${name.mark}`)).toBe(name.mark);
    expect(markIn(contentsOf(`some words${name.mark}`, 0)[0]!)).toBeNull();
  });

  it('shortens with a sign that says so', () => {
    expect(shorten('abcdef', 6)).toBe('abcdef');
    expect(shorten('abcdefg', 6)).toBe('abcde…');
    expect(shorten('😀😀😀😀', 6).length).toBeLessThanOrEqual(6);
  });

  it('waits longer before each further login, up to 15 min', () => {
    expect([0, 1, 2, 3, 8, 9, 50].map(loginWaitMs)).toEqual([0, 5000, 10_000, 20_000, 640_000, 900_000, 900_000]);
  });
});
