import type { Person } from '../port.ts';
import type { SlackApi } from './api.ts';
import { slackErrorOf } from './errors.ts';
import type { SlackLog } from './options.ts';

/** Names and user groups of people, remembered for a while so that a message costs no extra call. */
export interface SlackPeople {
  personOf(userId: string, signal: AbortSignal): Promise<Person>;
}

const nameForMs = 3_600_000; // chosen: names change seldom
const groupsForMs = 300_000; // chosen: who becomes a coach need not wait longer

/** User groups that cannot be read (no scope, plan without them) count as none; a name that cannot be read is the id. */
export function createPeople(api: SlackApi, log: SlackLog, nowMs: () => number): SlackPeople {
  const names = new Map<string, { name: string; isBot: boolean; untilMs: number }>();
  let groups: { byUser: Map<string, string[]>; untilMs: number } | null = null;
  let reading: Promise<Map<string, string[]>> | null = null;

  async function readGroups(signal: AbortSignal): Promise<Map<string, string[]>> {
    const byUser = new Map<string, string[]>();
    try {
      const answer = await api.once(signal, (web) => web.usergroups.list({ include_users: true }));
      for (const group of answer.usergroups ?? []) {
        for (const user of group.users ?? []) byUser.set(user, [...(byUser.get(user) ?? []), group.id!]);
      }
    } catch (error) {
      if (signal.aborted) throw error;
      log.warn({ slackError: slackErrorOf(error) }, 'Slack user groups could not be read; nobody counts as a member of one');
      if (groups !== null) return groups.byUser;
    }
    return byUser;
  }

  async function groupsOf(userId: string, signal: AbortSignal): Promise<string[]> {
    if (groups === null || groups.untilMs <= nowMs()) {
      reading ??= readGroups(signal).finally(() => {
        reading = null;
      });
      groups = { byUser: await reading, untilMs: nowMs() + groupsForMs };
    }
    return groups.byUser.get(userId) ?? [];
  }

  async function nameOf(userId: string, signal: AbortSignal) {
    const kept = names.get(userId);
    if (kept !== undefined && kept.untilMs > nowMs()) return kept;
    try {
      const { user } = await api.once(signal, (web) => web.users.info({ user: userId }));
      const name = user?.profile?.display_name || user?.profile?.real_name || user?.name || userId;
      const fresh = { name, isBot: user?.is_bot === true, untilMs: nowMs() + nameForMs };
      names.set(userId, fresh);
      return fresh;
    } catch (error) {
      if (signal.aborted) throw error;
      log.warn({ slackError: slackErrorOf(error) }, 'a Slack name could not be read');
      return kept ?? { name: userId, isBot: false };
    }
  }

  return {
    async personOf(userId, signal) {
      const [{ name, isBot }, memberOf] = await Promise.all([nameOf(userId, signal), groupsOf(userId, signal)]);
      return { platform: 'slack', id: userId, name, groups: memberOf, isBot };
    },
  };
}
