import { webApi } from '@slack/bolt';
import type { PreflightRow } from '../port.ts';
import { clientOptions, type SlackApi } from './api.ts';
import { slackErrorOf, toPlatformError } from './errors.ts';
import { botScopes, type SlackOptions } from './options.ts';

/** Milliseconds for all checks together. Chosen: somebody waits for the table. */
const limitMs = 20_000;

async function tokenRows(api: SlackApi, signal: AbortSignal): Promise<PreflightRow[]> {
  const fix = 'Copy the Bot User OAuth Token (xoxb-) from the app page, OAuth & Permissions, into SLACK_BOT_TOKEN.';
  try {
    const answer = await api.patiently(signal, (web) => web.auth.test());
    const scopes = answer.response_metadata?.scopes;
    const missing = scopes === undefined ? [] : botScopes.filter((scope) => !scopes.includes(scope));
    const told = scopes === undefined ? 'unknown: Slack did not name the scopes' : `${scopes.length} scopes`;
    return [
      { what: 'Slack bot token', ok: true, found: `${answer.user ?? 'bot'} in ${answer.team ?? 'the workspace'}`, fix },
      {
        what: 'Slack scopes',
        ok: missing.length === 0,
        found: missing.length === 0 ? told : `missing: ${missing.join(', ')}`,
        fix: `Add the missing scopes on the app page under OAuth & Permissions, or load deploy/slack-manifest.yaml, then reinstall the app.`,
      },
    ];
  } catch (error) {
    return [{ what: 'Slack bot token', ok: false, found: slackErrorOf(error) ?? toPlatformError(error).message, fix }];
  }
}

async function channelRow(api: SlackApi, channel: string, what: string, signal: AbortSignal): Promise<PreflightRow> {
  const row = {
    what: `${what} ${channel}`,
    fix: `Write /invite @quarterview in the channel, and check its id in the settings (${channel}).`,
  };
  try {
    const answer = await api.patiently(signal, (web) => web.conversations.info({ channel }));
    const { name, is_member: isMember, is_archived: isArchived } = answer.channel ?? {};
    const found = isArchived ? `#${name} is archived` : isMember ? `member of #${name}` : `not a member of #${name}`;
    return { ...row, ok: isMember === true && isArchived !== true, found };
  } catch (error) {
    return { ...row, ok: false, found: slackErrorOf(error) ?? toPlatformError(error).message };
  }
}

async function modeRow(options: SlackOptions): Promise<PreflightRow> {
  const { mode } = options;
  if (mode.kind === 'http') {
    const ok = /^[0-9a-f]{32}$/.test(mode.signingSecret);
    return {
      what: 'Slack signing secret',
      ok,
      found: ok
        ? `set; requests are taken on ${mode.host}:${mode.port}`
        : `${mode.signingSecret.length} characters, 32 hexadecimal ones expected`,
      fix: 'Copy the Signing Secret from the app page, Basic Information, into SLACK_SIGNING_SECRET.',
    };
  }
  const row = {
    what: 'Slack Socket Mode',
    fix: 'Make an app-level token (xapp-) with connections:write on the app page, Basic Information, put it into SLACK_APP_TOKEN, and switch Socket Mode on.',
  };
  try {
    const web = new webApi.WebClient(mode.appToken, clientOptions(options));
    await web.apps.connections.open({});
    return { ...row, ok: true, found: 'a connection is granted' };
  } catch (error) {
    return { ...row, ok: false, found: slackErrorOf(error) ?? toPlatformError(error).message };
  }
}

/** Token, scopes, membership of each channel, and the way events come in; each with what to do. Never throws. */
export async function slackPreflight(api: SlackApi, options: SlackOptions): Promise<PreflightRow[]> {
  const signal = AbortSignal.timeout(limitMs);
  const { channels, coachChannel, moderatorChannel } = options;
  const named = new Map([
    ...(moderatorChannel === null ? [] : [[moderatorChannel, 'Slack moderator channel'] as const]),
    ...(coachChannel === null ? [] : [[coachChannel, 'Slack coach channel'] as const]),
    ...channels.map((channel) => [channel, 'Slack channel'] as const),
  ]);
  const rows = await Promise.all([
    tokenRows(api, signal),
    ...[...named].reverse().map(([channel, use]) => channelRow(api, channel, use, signal)),
    modeRow(options),
  ]);
  return rows.flat();
}
