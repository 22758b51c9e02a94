import { expect, it } from 'vitest';
import { wordCard } from '../../src/wording/card.ts';
import { wordWaiting } from '../../src/wording/progress.ts';
import { clipFacts, judgementOf } from './clip-facts.ts';

it.each([
  [{ ahead: null, share: null }, 'Your clip is here. I will look at it in a moment.'],
  [{ ahead: 0, share: null }, 'Your clip is next.'],
  [{ ahead: 1, share: null }, 'Your clip is in line, 1 clip before it.'],
  [{ ahead: 12, share: null }, 'Your clip is in line, 12 clips before it.'],
  [{ ahead: 0, share: 0 }, 'I am looking at your clip now.'],
  [{ ahead: 0, share: 0.42 }, 'I am looking at your clip: 40 % done.'],
  [{ ahead: 0, share: 1 }, 'I am looking at your clip: 99 % done.'],
])('%j: %s', (state, text) => expect(wordWaiting(state, 'en')).toBe(text));

it('links the thread from the card when there is an address', () => {
  const card = (threadUrl: string | null) =>
    wordCard(judgementOf({}), clipFacts({}), {
      language: 'en',
      name: 'Pell',
      startsAtS: 0,
      threadUrl,
    }).text;
  expect(card('https://millrace.example/1').split('\n').at(-1)).toBe('Thread: https://millrace.example/1');
  expect(card(null)).not.toContain('Thread');
});
