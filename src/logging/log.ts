import { type DestinationStream, type Logger, pino } from 'pino';

export interface LogOptions {
  level: string;
  /** `json`: one object a line; `plain`: a line for people. */
  format: 'json' | 'plain';
  /** Values that are blotted out wherever they turn up, also inside the text of an error. */
  secrets: readonly string[];
  write(line: string): void;
}

/** Names of fields that hold what members wrote or what opens doors. */
const hidden = [
  'caption',
  'text',
  'question',
  'token',
  'password',
  'secret',
  'authorization',
  'cookie',
  'facts',
  'judgement',
  'url',
];
const blot = '[hidden]';

/** The log: no tokens, no captions. The adapters and the bot pass ids, codes and numbers; what slips in is blotted out. */
export function createLog({ level, format, secrets, write }: LogOptions): Logger {
  const inJson = secrets.flatMap((secret) => [secret, JSON.stringify(secret).slice(1, -1)]).sort((a, b) => b.length - a.length);
  const destination: DestinationStream = {
    write(line) {
      const clean = inJson.reduce((left, secret) => left.replaceAll(secret, blot), line);
      write(format === 'json' ? clean : plainLine(clean));
    },
  };
  const redact = { paths: hidden.flatMap((name) => [name, `*.${name}`, `*.*.${name}`]), censor: blot };
  return pino(
    { level, base: null, redact, timestamp: pino.stdTimeFunctions.isoTime, formatters: { level: (label) => ({ level: label }) } },
    destination,
  );
}

/** What would steer a terminal, begin a line of its own, or turn the reading direction. */
const steering = /[\p{Cc}\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu;
const escaped = (sign: string) => `\\u${(sign.codePointAt(0) ?? 0).toString(16).padStart(4, '0')}`;

/** `12:03:04 warn  what happened (id: 7f, attempts: 2)`. */
function plainLine(line: string): string {
  const { time, level, msg, ...details } = JSON.parse(line) as Record<string, unknown>;
  const told = Object.entries(details).map(
    ([name, value]) => `${name}: ${typeof value === 'string' ? value : JSON.stringify(value)}`,
  );
  const text = `${msg}${told.length === 0 ? '' : ` (${told.join(', ')})`}`;
  return `${String(time).slice(11, 19)} ${String(level).padEnd(5)} ${text.replace(steering, escaped)}\n`;
}
