import { z } from 'zod';
import { rules } from '../rules/index.ts';
import { rulesSchemaOf } from '../rules/settings.ts';

/** config/rules.yaml: one entry a rule, each part optional; see src/rules/settings.ts. */
export const RulesFile = rulesSchemaOf(rules);

const Limits = z.strictObject({
  maxBytes: z
    .int()
    .positive()
    .default(250 * 1024 * 1024)
    .meta({ description: 'Largest clip, bytes; 250 MiB is two minutes at the 16 Mbit/s of a phone (1080p).' }),
  maxDurationS: z
    .number()
    .positive()
    .default(600)
    .meta({ description: 'Longest clip, seconds; ten minutes are more than a set and its setup need.' }),
  maxPixels: z
    .int()
    .positive()
    .default(36_000_000)
    .meta({ description: 'Largest picture, width times height in pixels; 36 million is 8K and a little.' }),
  timeoutS: z.number().positive().default(120).meta({
    description:
      'Longest time that measuring one clip may take, seconds; a clip of 10 s takes about 6 s of one core (deploy/capacity.md).',
  }),
  maxMemoryMb: z
    .int()
    .positive()
    .default(1500)
    .meta({ description: 'Most memory that measuring one clip may take, MB; a clip of 10 s takes 450 (deploy/capacity.md).' }),
});

const Captions = z.strictObject({
  unitWhenSilent: z
    .enum(['kg', 'lb'])
    .nullable()
    .default(null)
    .meta({ description: 'Unit of a load typed without one, or null when such a load does not count.' }),
});

const port = (usual: number) => z.int().min(0).max(65_535).default(usual);

const Room = z.strictObject({
  serve: z
    .enum(['alone', 'always', 'never'])
    .default('alone')
    .meta({ description: 'When the local room is served: only without Discord and Slack, always, or never.' }),
  host: z.string().default('127.0.0.1').meta({
    description:
      'Address to listen on; anything but this computer needs ROOM_PASSWORD (for coaches and moderators ROOM_COACH_PASSWORD and ROOM_MODERATOR_PASSWORD).',
  }),
  port: port(8420).meta({ description: 'Port of the page; 0 takes any free one.' }),
  publicHosts: z
    .array(z.string())
    .default([])
    .meta({ description: 'Names, without port, by which a shared room is reached; with one it needs ROOM_PASSWORD.' }),
  community: z.string().min(1).max(60).default('Millrace Barbell').meta({ description: 'Name on the page.' }),
  keepDays: z.number().positive().nullable().default(30).meta({
    description: "A thread and its clips are deleted from the room this long after the thread's last message, days; null: never.",
  }),
});

/** Six marks as one emoji each; two marks with one emoji could not be told apart. */
const emojiOf = (usual: Record<'seen' | 'fix' | 'clean' | 'unsure' | 'failed' | 'done', string>) => {
  const sign = z.string().min(1).max(100);
  return z
    .strictObject({
      seen: sign.default(usual.seen).meta({ description: 'The clip was seen.' }),
      fix: sign.default(usual.fix).meta({ description: 'The filming is to be changed.' }),
      clean: sign.default(usual.clean).meta({ description: 'The clip went on to the coaches.' }),
      unsure: sign.default(usual.unsure).meta({ description: 'It went on, with something that could not be told.' }),
      failed: sign.default(usual.failed).meta({ description: 'The clip could not be read.' }),
      done: sign.default(usual.done).meta({ description: 'A coach is done with it.' }),
    })
    .refine((marks) => new Set(Object.values(marks)).size === Object.keys(marks).length, 'two marks have the same emoji')
    .prefault({});
};

const channels = z.array(z.string().regex(/^[\w-]+$/)).default([]);
const place = z
  .string()
  .regex(/^[\w-]+$/)
  .nullable()
  .default(null);

const Discord = z.strictObject({
  channels: channels.meta({ description: 'Ids of the watched channels, in quotes.' }),
  coachChannel: place.meta({ description: "Id of the coaches' channel, in quotes; null for none." }),
  coachMention: place.meta({ description: 'Id of the role to mention there; null for none.' }),
  moderatorChannel: place.meta({ description: "Id of the moderators' channel, in quotes; null for none." }),
  server: place.meta({ description: "Id of the server, for links from the coaches' cards; null: cards have no link." }),
  emoji: emojiOf({ seen: '👀', fix: '🔁', clean: '✅', unsure: '🤔', failed: '⚠️', done: '🏁' }).meta({
    description: "The sign itself, or name:id of the server's own.",
  }),
});

const Slack = z.strictObject({
  channels: channels.meta({ description: 'Ids of the watched channels.' }),
  coachChannel: place.meta({ description: "Id of the coaches' channel; null for none." }),
  coachMention: place.meta({ description: 'Id of the user group to mention there; null for none.' }),
  moderatorChannel: place.meta({ description: "Id of the moderators' channel; null for none." }),
  workspace: z
    .string()
    .regex(/^https:\/\/[\w.-]+$/)
    .nullable()
    .default(null)
    .meta({ description: "Address of the workspace, for links from the coaches' cards; null: cards have no link." }),
  host: z
    .string()
    .default('127.0.0.1')
    .meta({ description: 'Without Socket Mode: address on which requests of Slack are taken.' }),
  port: port(8422).meta({ description: 'Without Socket Mode: its port.' }),
  emoji: emojiOf({
    seen: 'eyes',
    fix: 'repeat',
    clean: 'white_check_mark',
    unsure: 'thinking_face',
    failed: 'warning',
    done: 'checkered_flag',
  }).meta({ description: 'Names of emoji, without colons.' }),
});

const Replies = z.strictObject({
  progressAfterS: z.number().positive().default(20).meta({
    description: 'A clip that waits longer shows its progress, seconds; about as long as somebody waits without a word.',
  }),
  progressEditEveryS: z.number().min(1).default(3).meta({
    description:
      'Least time between two edits of progress messages on one platform, seconds; Slack takes about one message a second in a channel.',
  }),
  mentionEveryMin: z.number().min(0).default(30).meta({ description: 'The coaches are mentioned at most this often, minutes.' }),
  retryAfterS: z
    .number()
    .min(0.01)
    .max(60)
    .default(2)
    .meta({ description: 'Wait before something that failed is tried again; doubled each time up to five minutes, seconds.' }),
});

const Queue = z.strictObject({
  processes: z
    .int()
    .min(1)
    .max(256)
    .nullable()
    .default(null)
    .meta({ description: 'Clips measured at once on one host; null: as many as there are cores.' }),
  recycleAfter: z.int().min(1).default(50).meta({
    description: 'A measuring process is replaced after this many clips, so that what it never gives back does not add up.',
  }),
  prefix: z
    .string()
    .regex(/^[\w-]+$/)
    .default('quarterview')
    .meta({ description: 'With Redis: begins all keys; bots that share a Redis need one each.' }),
  clipsBy: z.enum(['address', 'folder']).default('address').meta({
    description: "With Redis: workers fetch clips from the bot's address, or find them in a shared folder (SPOOL_FOLDER).",
  }),
  addressHours: z.number().positive().default(24).meta({
    description: 'With Redis: how long the address of a clip can be used, hours; a clip that waits longer gets a new one.',
  }),
});

const Retention = z.strictObject({
  clipHours: z
    .number()
    .min(0)
    .default(24)
    .meta({ description: 'Clips and pictures are deleted from the disk this long after the answer, hours.' }),
  factsDays: z.number().min(2).nullable().default(365).meta({
    description:
      'All that is kept of a clip (caption, names, facts, judgement, addresses of posts) is deleted this long after the answer, days; null: never.',
  }),
});

const Operator = z.strictObject({
  host: z.string().default('127.0.0.1').meta({
    description:
      'Address on which /healthz, /readyz, /metrics and clips for workers are served, where the room does not serve them.',
  }),
  port: port(8421).meta({ description: 'Its port.' }),
});

const Group = z
  .strictObject({
    coaches: channels.meta({ description: 'Ids of roles, groups or people who coach.' }),
    moderators: channels.meta({ description: 'Ids of roles, groups or people who moderate; they may do what coaches may.' }),
  })
  .prefault({});

const People = z.strictObject({
  discord: Group.meta({ description: 'Ids of roles and users on Discord, in quotes.' }),
  slack: Group.meta({ description: 'Ids of user groups and users on Slack.' }),
  may: z
    .record(z.string().regex(/^[a-z-]+$/), z.enum(['anyone', 'coach', 'moderator']))
    .default({})
    .meta({ description: 'Who may do what, by the name of the act, where it should differ from what is built in.' }),
});

const perWeek = (usual: number) => z.int().min(0).max(100).default(usual);

const Members = z.strictObject({
  appealsPerWeek: perWeek(3).meta({
    description: 'How often a member may send a clip to a coach anyway that was sent back, in seven days; 0: never.',
  }),
  askedViewsPerWeek: perWeek(10).meta({
    description:
      'How often a member may say that a coach asked for the view of a clip that was sent back, in seven days; 0: never.',
  }),
});

const isZone = (zone: string) => {
  try {
    return new Intl.DateTimeFormat('en', { timeZone: zone }).resolvedOptions().timeZone !== '';
  } catch {
    return false;
  }
};

const Coaches = z.strictObject({
  digestHour: z.int().min(0).max(23).nullable().default(null).meta({
    description:
      'Hour of the day at which the coaches are told in their channel what waits and what was done, 0 to 23; null: never.',
  }),
  zone: z.string().refine(isZone, 'no time zone of that name').default('UTC').meta({
    description: "Time zone of that hour, of days that coaches name and of the moderators' report, like Europe/London.",
  }),
});

const weekdays = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'] as const;

const Moderators = z.strictObject({
  reportDay: z
    .enum(weekdays)
    .nullable()
    .default(null)
    .meta({ description: "Day of the week on which the moderators' channel gets the report of seven days; null: never." }),
  reportHour: z
    .int()
    .min(0)
    .max(23)
    .default(9)
    .meta({ description: 'Hour of that day, 0 to 23, in the time zone of the coaches.' }),
  handAfterTakes: z
    .int()
    .min(2)
    .max(100)
    .default(3)
    .meta({ description: 'A member whose clip was sent back so many times in a row is named in the report.' }),
  correctionMin: z
    .number()
    .min(0)
    .max(60)
    .default(0)
    .meta({ description: 'Minutes that a coach needs to write a correction, for the time saved; 0 leaves that out.' }),
  rejudgeLast: z
    .int()
    .min(1)
    .max(20_000)
    .default(500)
    .meta({ description: 'How many of the last clips are judged again to show what a change of the rules would do.' }),
});

/** config/settings.yaml: one section a concern, each with defaults for all it holds. */
export const SettingsFile = z.strictObject({
  limits: Limits.prefault({}).meta({ description: 'What a clip may be and cost.' }),
  captions: Captions.prefault({}).meta({ description: 'How captions are read.' }),
  room: Room.prefault({}).meta({ description: 'The local room, a page for this computer.' }),
  discord: Discord.prefault({}).meta({ description: 'Discord, used when DISCORD_TOKEN is set.' }),
  slack: Slack.prefault({}).meta({ description: 'Slack, used when SLACK_BOT_TOKEN is set.' }),
  replies: Replies.prefault({}).meta({ description: 'When the bot says something.' }),
  queue: Queue.prefault({}).meta({ description: 'How clips are measured.' }),
  retention: Retention.prefault({}).meta({ description: 'How long something is kept.' }),
  members: Members.prefault({}).meta({ description: 'What members may do about a clip that was sent back.' }),
  people: People.prefault({}).meta({
    description:
      'Who coaches and who moderates. In the local room everybody chooses, or with ROOM_PASSWORD comes in by the password of their role.',
  }),
  coaches: Coaches.prefault({}).meta({ description: 'What coaches are told.' }),
  moderators: Moderators.prefault({}).meta({ description: 'What moderators are told, and how changes of the rules are tried.' }),
  operator: Operator.prefault({}).meta({ description: "The operator's addresses." }),
});
export type SettingsFile = z.infer<typeof SettingsFile>;
