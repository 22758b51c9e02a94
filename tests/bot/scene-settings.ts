import type { BotSettings } from '../../src/bot/deps.ts';

/** Settings of a bot in tests: one room of Millrace Barbell, no reports, waits of a millisecond. */
export const sceneSettings = (change: Partial<BotSettings> = {}): BotSettings => ({
  watched: { room: ['form-check'] },
  coachChannel: { room: 'coaches' },
  coachMention: { room: 'coaches-role' },
  mentionEveryMin: 10,
  limits: { maxBytes: 1000, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000 },
  progressAfterS: 20,
  progressEditEveryS: 0,
  retryAfterMs: 1,
  appealsPerWeek: 3,
  askedViewsPerWeek: 10,
  clipHours: 24,
  factsDays: 365,
  people: { room: { coaches: ['coach'], moderators: ['moderator'] } },
  digestHour: null,
  zone: 'UTC',
  moderatorChannel: { room: 'moderators' },
  reportDay: null,
  reportHour: 9,
  handAfterTakes: 3,
  correctionMin: 0,
  rejudgeLast: 500,
  may: {},
  ...change,
});
