import type { types } from '@slack/bolt';
import { describe, expect, it } from 'vitest';
import { parseCommand } from '../../../src/platforms/slack/command-text.ts';
import { cut, notificationText, richText, splitLines, typedText } from '../../../src/platforms/slack/text.ts';
import { requestFaults } from './checks.ts';

type RichTextSection = types.RichTextSection;

describe('text from Slack', () => {
  // Forms of links and mentions: Slack docs, formatting message text, "retrieving messages".
  it.each([
    ['Squat &lt;100&gt; &amp; up', 'Squat <100> & up'],
    ['&amp;lt;', '&lt;'],
    ['see <https://example.org/a?b=1&amp;c=2>', 'see https://example.org/a?b=1&c=2'],
    ['<https://example.org|my clip>', 'my clip https://example.org'],
    ['<http://example.org|example.org>', 'http://example.org'],
    ['hi <@U123>', 'hi @U123'],
    ['<@U123|odo> in <#C1|form-check>', '@odo in #form-check'],
    ['<!here> <!subteam^S1|@coaches>', '@here @coaches'],
  ])('%s reads as typed', (raw, typed) => {
    expect(typedText(raw)).toBe(typed);
  });
});

describe('text to Slack', () => {
  it('keeps hostile text inert in the notification', () => {
    expect(notificationText('<!channel> **a < b** & <@U1>', null)).toBe('&lt;!channel&gt; *a &lt; b* &amp; &lt;@U1&gt;');
    expect(notificationText('one waits', 'S1')).toBe('<!subteam^S1> one waits');
  });

  it('makes bold only of closed pairs within a line', () => {
    const texts = (text: string) =>
      richText(text, null).flatMap((block) => (block.elements as RichTextSection[]).flatMap((one) => one.elements));
    expect(texts('a **b** c')).toEqual([
      { type: 'text', text: 'a ' },
      { type: 'text', text: 'b', style: { bold: true } },
      { type: 'text', text: ' c' },
    ]);
    expect(texts('a**b')).toEqual([{ type: 'text', text: 'a**b' }]);
    expect(texts('**a\nb**')).toEqual([{ type: 'text', text: '**a\nb**' }]);
  });

  it('splits at line breaks, at exactly the limit, and never inside a character', () => {
    expect(splitLines('aa\nbb\ncc', 5)).toEqual(['aa\nbb', 'cc']);
    expect(splitLines('aa\nbb\ncc', 4)).toEqual(['aa', 'bb', 'cc']);
    expect(splitLines('abcdefg', 3)).toEqual(['abc', 'def', 'g']);
    expect(splitLines('ab🏋c', 3)).toEqual(['ab', '🏋c']);
    expect(splitLines('', 3)).toEqual(['']);
    expect(cut('abcd', 4)).toBe('abcd');
    expect(cut('abcde', 4)).toBe('abc…');
    expect(cut('ab🏋cd', 4)).toBe('ab…');
  });
});

describe('the words after the slash command', () => {
  const commands = [
    { name: 'history', description: 'Your takes', fields: [] },
    {
      name: 'film',
      description: 'How to film a lift',
      fields: [
        {
          id: 'lift',
          label: 'Lift',
          required: true,
          options: [
            { value: 'bench', label: 'Bench press' },
            { value: 'squat', label: 'Squat' },
          ],
        },
        { id: 'view', label: 'View', required: false, options: [{ value: 'side', label: 'Side' }] },
        { id: 'note', label: 'Note', required: false, options: null },
      ],
    },
  ];
  const read = (text: string) => {
    const parsed = parseCommand(text, commands);
    return parsed.kind === 'help' ? 'help' : { name: parsed.command.name, values: parsed.values, missing: parsed.missing };
  };

  it.each([
    ['', 'help'],
    ['dance', 'help'],
    ['history', { name: 'history', values: {}, missing: false }],
    ['film squat', { name: 'film', values: { lift: 'squat' }, missing: false }],
    [
      '  FILM  Bench  Press side low gym ',
      { name: 'film', values: { lift: 'bench', view: 'side', note: 'low gym' }, missing: false },
    ],
    ['film bench low gym', { name: 'film', values: { lift: 'bench', note: 'low gym' }, missing: false }],
    ['film squat "low gym"', { name: 'film', values: { lift: 'squat', note: 'low gym' }, missing: false }],
    ['film', { name: 'film', values: {}, missing: true }],
    ['film curls', { name: 'film', values: { note: 'curls' }, missing: true }],
  ])('%s', (text, meaning) => {
    expect(read(text)).toEqual(meaning);
  });
});

describe('the checks of our requests', () => {
  const view = (more: object) => ({
    trigger_id: '1',
    view: { type: 'modal', title: { type: 'plain_text', text: 'Ask' }, blocks: [], ...more },
  });

  // The limits: Slack's Block Kit reference (24 characters of a modal's title, 255 of an action id).
  it('pass what is right and catch what Slack would refuse', () => {
    expect(requestFaults('views.open', view({}))).toEqual([]);
    expect(requestFaults('views.open', view({ title: { type: 'plain_text', text: 'x'.repeat(24) } }))).toEqual([]);
    expect(requestFaults('views.open', view({ title: { type: 'plain_text', text: 'x'.repeat(25) } }))).toHaveLength(1);
    expect(requestFaults('views.open', view({ colour: 'red' }))).not.toEqual([]);
    expect(requestFaults('chat.delete', { channel: 'C1' })).not.toEqual([]);
    expect(
      requestFaults('chat.postMessage', {
        channel: 'C1',
        text: 'x',
        blocks: [{ type: 'actions', elements: [{ type: 'button' }] }],
      }),
    ).not.toEqual([]);
    const button = { type: 'button', text: { type: 'plain_text', text: 'Take' }, action_id: 'x'.repeat(256) };
    expect(
      requestFaults('chat.postMessage', { channel: 'C1', text: 'x', blocks: [{ type: 'actions', elements: [button] }] }),
    ).toHaveLength(1);
  });
});
