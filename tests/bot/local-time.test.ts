import { expect, it } from 'vitest';
import { dateBefore, endOfDayMs, hourMs, localTime, weekdayOf } from '../../src/bot/local-time.ts';

// Offsets by the time zone database: London is at +1 from 29 March to 25 October 2026, Auckland at +13 in November.
it.each([
  ['2026-11-25', 9, 'UTC', '2026-11-25T09:00Z'],
  ['2026-07-01', 9, 'Europe/London', '2026-07-01T08:00Z'],
  ['2026-03-29', 9, 'Europe/London', '2026-03-29T08:00Z'],
  ['2026-03-29', 0, 'Europe/London', '2026-03-29T00:00Z'],
  ['2026-10-25', 0, 'Europe/London', '2026-10-24T23:00Z'],
  ['2026-10-25', 9, 'Europe/London', '2026-10-25T09:00Z'],
  ['2026-11-25', 9, 'Pacific/Auckland', '2026-11-24T20:00Z'],
  ['2026-11-25', 23, 'America/New_York', '2026-11-26T04:00Z'],
])('%s %i h in %s is %s', (date, hour, zone, utc) => {
  expect(hourMs(date, hour, zone)).toBe(Date.parse(utc));
  expect(localTime(hourMs(date, hour, zone), zone)).toEqual({ date, hour });
});

it('a day ends where the next begins', () => {
  for (const zone of ['UTC', 'Europe/London', 'Pacific/Auckland'])
    for (const [day, next] of [
      ['2026-03-28', '2026-03-29'],
      ['2026-03-29', '2026-03-30'],
      ['2026-12-31', '2027-01-01'],
    ] as const)
      expect(endOfDayMs(day, zone)).toBe(hourMs(next, 0, zone));
});

it('counts days back over the end of a month, and knows their names', () => {
  expect([dateBefore('2026-11-25', 0), dateBefore('2026-03-01', 1), dateBefore('2028-03-01', 1)]).toEqual([
    '2026-11-25',
    '2026-02-28',
    '2028-02-29',
  ]);
  expect(weekdayOf('2026-11-25')).toBe('wednesday');
});
