import type { App, BlockAction, SlashCommand, ViewSubmitAction } from '@slack/bolt';
import type { Action, ActionReply, Command, Form, MessageRef, OutgoingMessage, Person, PlatformEvents } from '../port.ts';
import type { SlackApi } from './api.ts';
import { modalView } from './blocks.ts';
import { commandForm, commandOfForm, helpText, parseCommand } from './command-text.ts';
import { packContext, unpackContext } from './context.ts';
import { slackErrorOf } from './errors.ts';
import { refOf } from './messages.ts';
import type { SlackLog } from './options.ts';
import type { SlackPeople } from './people.ts';
import { type PrivateTarget, replyPrivately } from './private-reply.ts';
import type { Publisher } from './publish.ts';

export interface ActionParts {
  api: SlackApi;
  publisher: Publisher;
  people: SlackPeople;
  events: PlatformEvents;
  commands: Command[];
  slashCommand: string;
  log: SlackLog;
  signal: AbortSignal;
  /** Runs work in the background and logs its failure. */
  run(what: string, work: () => Promise<void>): void;
}

const words = {
  failed: 'That did not work just now. Please try again in a minute.',
  tooLate: 'That took too long for Slack. Please press once more.',
};

const say = (text: string): OutgoingMessage => ({ text, files: [], buttons: [], choices: [], mention: null });

/** The message that carried a button; null for one that only the presser sees, since that cannot be found again. */
function carrierOf(body: BlockAction): MessageRef | null {
  const { container, channel } = body;
  const ts = container.message_ts;
  const place = channel?.id ?? container.channel_id;
  if (container.is_ephemeral === true || ts === undefined || place === undefined) return null;
  const thread = body.message?.thread_ts ?? container.thread_ts;
  return refOf(place, { ts, ...(thread === undefined ? {} : { thread_ts: thread }) });
}

function valuesOf(view: ViewSubmitAction['view']): Record<string, string> {
  const values: Record<string, string> = {};
  for (const fields of Object.values(view.state.values)) {
    for (const [id, field] of Object.entries(fields)) {
      const value = field.selected_option?.value ?? field.value;
      if (value !== null && value !== undefined && value !== '') values[id] = value;
    }
  }
  return values;
}

/** Listens to buttons, choices, forms and the slash command. Each is acknowledged before anything else is done. */
export function listenToActions(app: App, parts: ActionParts): void {
  const { api, publisher, people, events, commands, slashCommand, log, signal, run } = parts;

  async function openForm(triggerId: string, form: Form, context: string, given: Record<string, string>): Promise<boolean> {
    try {
      await api.once(signal, (web) => web.views.open({ trigger_id: triggerId, view: modalView(form, context, given) }));
      return true;
    } catch (error) {
      const word = slackErrorOf(error);
      if (word !== 'expired_trigger_id' && word !== 'trigger_expired') throw error;
      log.warn({ formId: form.id }, 'a Slack form came too late to be opened');
      return false;
    }
  }

  async function answer(action: Action, triggerId: string, to: PrivateTarget): Promise<void> {
    let reply: ActionReply;
    try {
      reply = await events.onAction(action);
    } catch (error) {
      log.error({ actionId: action.id, error: String(error) }, 'an action failed');
      reply = { kind: 'private', message: say(words.failed) };
    }
    if (reply.kind === 'nothing') return;
    if (reply.kind === 'private') return replyPrivately(api, publisher, to, reply.message, signal);
    const context = packContext({ channel: action.channel, thread: to.thread, where: action.where });
    const opened = await openForm(triggerId, reply.form, context, {});
    if (!opened) await replyPrivately(api, publisher, to, say(words.tooLate), signal);
  }

  app.action(/.*/, async ({ ack, body, action }) => {
    await ack();
    if (body.type !== 'block_actions') return;
    const pressed = body as BlockAction;
    run('action', async () => {
      const choice = action.type === 'static_select' ? action.selected_option?.value : undefined;
      if (action.type !== 'button' && choice === undefined) return;
      const where = carrierOf(pressed);
      const channel = pressed.channel?.id ?? pressed.container.channel_id;
      const id = 'action_id' in action ? action.action_id : '';
      const stamp = 'action_ts' in action ? action.action_ts : pressed.trigger_id;
      const person = await people.personOf(pressed.user.id, signal);
      const pressId = `${pressed.user.id}/${stamp}`;
      await answer(
        {
          kind: choice === undefined ? 'button' : 'choice',
          id,
          pressId,
          person,
          where,
          channel,
          values: choice === undefined ? {} : { [id]: choice },
        },
        pressed.trigger_id,
        { userId: person.id, channel, thread: where?.thread ?? pressed.container.thread_ts ?? null, responseUrl: null },
      );
    });
  });

  app.view(/.*/, async ({ ack, body }) => {
    await ack();
    if (body.type !== 'view_submission') return;
    const sent = body as ViewSubmitAction;
    run('form', async () => {
      const context = unpackContext(sent.view.private_metadata);
      if (context === null) return;
      const person = await people.personOf(sent.user.id, signal);
      const command = commandOfForm(sent.view.callback_id);
      const pressId = sent.view.id;
      await answer(
        {
          kind: command === null ? 'form' : 'command',
          id: command ?? sent.view.callback_id,
          pressId,
          person,
          where: context.where,
          channel: context.channel,
          values: valuesOf(sent.view),
        },
        // A form that follows a form would need the submission's own trigger; Slack sends it with the payload.
        (sent as ViewSubmitAction & { trigger_id?: string }).trigger_id ?? '',
        { userId: person.id, channel: context.channel, thread: context.thread, responseUrl: null },
      );
    });
  });

  async function command(typed: SlashCommand): Promise<void> {
    const to = (person: Pick<Person, 'id'>): PrivateTarget => ({
      userId: person.id,
      channel: typed.channel_id,
      thread: null,
      responseUrl: typed.response_url || null,
    });
    const parsed = parseCommand(typed.text ?? '', commands);
    if (parsed.kind === 'help') {
      return replyPrivately(api, publisher, to({ id: typed.user_id }), say(helpText(slashCommand, commands)), signal);
    }
    if (parsed.missing) {
      const context = packContext({ channel: typed.channel_id, thread: null, where: null });
      const opened = await openForm(typed.trigger_id, commandForm(parsed.command), context, parsed.values);
      if (!opened) await replyPrivately(api, publisher, to({ id: typed.user_id }), say(words.tooLate), signal);
      return;
    }
    const person = await people.personOf(typed.user_id, signal);
    await answer(
      {
        kind: 'command',
        id: parsed.command.name,
        pressId: typed.trigger_id,
        person,
        where: null,
        channel: typed.channel_id,
        values: parsed.values,
      },
      typed.trigger_id,
      to(person),
    );
  }

  app.command(slashCommand, async ({ ack, command: typed }) => {
    await ack();
    run('command', () => command(typed));
  });
}
