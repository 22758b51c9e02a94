/** The part of a log that the parts of the bot write to. */
interface Lines {
  info(details: object, text: string): void;
  warn(details: object, text: string): void;
  error(details: object, text: string): void;
}

const mostKinds = 500; // chosen: more than there are kinds of trouble, and a bound for the memory

/** What a line is about, without the ids and numbers that differ from one clip to the next. */
function kindOf(level: string, details: object, text: string): string {
  const { error, code, platform, channel } = details as Record<string, unknown>;
  const shape = String(error)
    .replace(/'[^']*'|"[^"]*"|\/\S+/g, '')
    .replace(/\d+/g, '#');
  return [level, text, platform, channel, code, shape].join('|').slice(0, 400);
}

/**
 * A log in which the same trouble is one line each `everyMs`, with the number of lines held back as `again`, however many clips wait for
 * it to pass. Lines without an `error` and those with `final: true` (something was given up on) are all written.
 */
export function withoutRepeats(log: Lines, everyMs: number, nowMs: () => number): Lines {
  const told = new Map<string, { atMs: number; again: number }>();
  const write = (level: keyof Lines, details: object, text: string) => {
    if (!('error' in details) || ('final' in details && details.final === true)) return log[level](details, text);
    const kind = kindOf(level, details, text);
    const last = told.get(kind);
    const sinceMs = last === undefined ? everyMs : nowMs() - last.atMs;
    if (last !== undefined && sinceMs >= 0 && sinceMs < everyMs) {
      last.again += 1;
      return;
    }
    if (told.size >= mostKinds) told.clear();
    told.set(kind, { atMs: nowMs(), again: 0 });
    log[level](last === undefined || last.again === 0 ? details : { ...details, again: last.again }, text);
  };
  return {
    info: (details, text) => write('info', details, text),
    warn: (details, text) => write('warn', details, text),
    error: (details, text) => write('error', details, text),
  };
}
