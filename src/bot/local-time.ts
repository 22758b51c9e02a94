const dayMs = 24 * 3_600_000;
const weekdays = ['sunday', 'monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday'] as const;

function partsOf(ms: number, zone: string): Record<string, string> {
  const format = new Intl.DateTimeFormat('en-US', {
    ...{ timeZone: zone, hourCycle: 'h23', year: 'numeric', month: '2-digit', day: '2-digit' },
    ...{ hour: '2-digit', minute: '2-digit', second: '2-digit' },
  });
  return Object.fromEntries(format.formatToParts(ms).map(({ type, value }) => [type, value]));
}

/** When a clock in the zone shows what one in UTC shows at `clockMs`. */
function inZoneMs(clockMs: number, zone: string): number {
  const offsetAt = (ms: number) => {
    const at = partsOf(ms, zone);
    const [y, mo, d, h, mi, s] = ['year', 'month', 'day', 'hour', 'minute', 'second'].map((name) => Number(at[name]));
    return Date.UTC(y!, mo! - 1, d!, h!, mi!, s!) - Math.floor(ms / 1000) * 1000;
  };
  // The offset may change just then, so it is looked up again at the time that the first one gives.
  return clockMs - offsetAt(clockMs - offsetAt(clockMs));
}

/** Day (2026-11-25) and hour (0..23) of a time in ms since 1970, in an IANA zone. */
export function localTime(ms: number, zone: string): { date: string; hour: number } {
  const { year, month, day, hour } = partsOf(ms, zone);
  return { date: `${year}-${month}-${day}`, hour: Number(hour) };
}

/** When a day (2026-11-25) ends in an IANA zone, ms since 1970; null for what is no day. */
export function endOfDayMs(date: string, zone: string): number | null {
  const found = /^(\d{4})-(\d{1,2})-(\d{1,2})$/.exec(date.trim());
  if (found === null) return null;
  const [year, month, day] = found.slice(1).map(Number) as [number, number, number];
  const midnightMs = Date.UTC(year, month - 1, day);
  if (new Date(midnightMs).getUTCMonth() !== month - 1 || new Date(midnightMs).getUTCDate() !== day) return null;
  return inZoneMs(midnightMs + dayMs, zone);
}

/** When an hour (0..23) of a day (2026-11-25) begins in an IANA zone, ms since 1970. */
export function hourMs(date: string, hour: number, zone: string): number {
  return inZoneMs(Date.parse(`${date}T00:00:00Z`) + hour * 3_600_000, zone);
}

/** The day so many days before one, each as 2026-11-25. */
export function dateBefore(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) - days * dayMs).toISOString().slice(0, 10);
}

/** Day of the week of a day (2026-11-25). */
export function weekdayOf(date: string): (typeof weekdays)[number] {
  return weekdays[new Date(`${date}T00:00:00Z`).getUTCDay()] ?? 'sunday';
}
