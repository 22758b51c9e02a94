import {
  type APIChatInputApplicationCommandGuildInteraction,
  type APIGuildInteraction,
  type APIInteraction,
  type APIMessageComponentGuildInteraction,
  type APIModalSubmitGuildInteraction,
  ApplicationCommandType,
  ComponentType,
  InteractionResponseType,
  InteractionType,
  MessageFlags,
  Routes,
} from 'discord.js';
import type { Action, ActionReply, Command, OutgoingMessage } from '../port.ts';
import type { DiscordApi } from './api.ts';
import { valuesOf } from './commands.ts';
import { discordCodeOf } from './failure.ts';
import { filledIn, modalOf } from './forms.ts';
import { personOf, refOf } from './incoming.ts';
import type { Log } from './options.ts';
import { type Draft, draftsOf } from './outgoing.ts';
import type { Place, Places } from './places.ts';

type Ours = APIChatInputApplicationCommandGuildInteraction | APIMessageComponentGuildInteraction | APIModalSubmitGuildInteraction;

function isOurs(interaction: APIInteraction): interaction is Ours {
  if (!interaction.guild_id || !interaction.member) return false;
  if (interaction.type === InteractionType.ApplicationCommand) return interaction.data.type === ApplicationCommandType.ChatInput;
  return interaction.type === InteractionType.MessageComponent || interaction.type === InteractionType.ModalSubmit;
}

function actionOf(interaction: Ours, place: Place, commands: Command[]): Action {
  const carrier = 'message' in interaction ? interaction.message : undefined;
  const isPublic = carrier !== undefined && (Number(carrier.flags ?? 0) & MessageFlags.Ephemeral) === 0;
  const base = {
    pressId: interaction.id,
    person: personOf(interaction.member.user, interaction.member),
    where: isPublic ? refOf(place, carrier.id) : null,
    channel: place.channel,
  };
  if (interaction.type === InteractionType.ApplicationCommand) {
    const command = commands.find(({ name }) => name === interaction.data.name);
    return { ...base, kind: 'command', id: interaction.data.name, values: valuesOf(command, interaction.data.options ?? []) };
  }
  if (interaction.type === InteractionType.ModalSubmit) {
    return { ...base, kind: 'form', id: interaction.data.custom_id, values: filledIn(interaction.data.components) };
  }
  const { data } = interaction;
  if (data.component_type !== ComponentType.StringSelect) return { ...base, kind: 'button', id: data.custom_id, values: {} };
  return { ...base, kind: 'choice', id: data.custom_id, values: { [data.custom_id]: data.values[0] ?? '' } };
}

interface Desk {
  api: DiscordApi;
  places: Places;
  commands: Command[];
  handle: (action: Action) => Promise<ActionReply>;
  words: { failed: string; again: string };
  deferAfterMs: number;
  log: Log;
}

const privateFlags = MessageFlags.Ephemeral | MessageFlags.SuppressEmbeds;
const textMessage = (text: string): OutgoingMessage => ({ text, files: [], buttons: [], choices: [], mention: null });

/** "Unknown interaction" and "already acknowledged" (Discord docs, JSON error codes): no answer can follow. */
const isOver = (error: unknown) => [10062, 40060].includes(discordCodeOf(error) ?? 0);

/** The ways to answer one interaction; which of them Discord allows depends on whether the answer was deferred. */
function answers(api: DiscordApi, interaction: APIGuildInteraction, signal: AbortSignal) {
  const callback = (type: InteractionResponseType, data?: unknown, files: Draft['files'] = []) =>
    api.call('POST', Routes.interactionCallback(interaction.id, interaction.token), signal, {
      body: { type, ...(data ? { data } : {}) },
      files,
      auth: false,
    });
  const hook = Routes.webhook(interaction.application_id, interaction.token);
  const original = Routes.webhookMessage(interaction.application_id, interaction.token, '@original');
  return {
    defer: () => callback(InteractionResponseType.DeferredChannelMessageWithSource, { flags: MessageFlags.Ephemeral }),
    leave: () => callback(InteractionResponseType.DeferredMessageUpdate),
    open: (modal: unknown) => callback(InteractionResponseType.Modal, modal),
    forget: () => api.call('DELETE', original, signal, { auth: false }),
    tell: async (message: OutgoingMessage, deferred: boolean) => {
      for (const [i, { body, files }] of (await draftsOf({ ...message, mention: null }, 0)).entries()) {
        const data = { ...body, flags: privateFlags };
        if (i > 0) await api.call('POST', hook, signal, { body: data, files, auth: false });
        else if (deferred)
          await api.call('PATCH', original, signal, {
            body: { ...body, flags: MessageFlags.SuppressEmbeds },
            files,
            auth: false,
          });
        else await callback(InteractionResponseType.ChannelMessageWithSource, data, files);
      }
    },
  };
}

/**
 * Takes one interaction to the handler and its answer back. Discord voids an interaction that is not answered within 3 s, so a slow
 * handler's answer is deferred after `deferAfterMs`; a form can only be the first answer, so a late one becomes the words `again`.
 */
export async function answerInteraction(desk: Desk, interaction: APIInteraction, signal: AbortSignal): Promise<void> {
  if (!isOurs(interaction)) return;
  const { api, words } = desk;
  const answer = answers(api, interaction, signal);
  const fromMessage = 'message' in interaction && interaction.message !== undefined;
  const work = (async (): Promise<ActionReply> => {
    const channel = interaction.channel;
    if (channel) desk.places.learn({ ...channel, guild_id: interaction.guild_id } as never);
    const place = await desk.places.of(channel?.id ?? '', signal);
    if (!place) return { kind: 'nothing' };
    return desk.handle(actionOf(interaction, place, desk.commands));
  })().catch((error: unknown): ActionReply => {
    desk.log.error(
      { action: interaction.id, fault: error instanceof Error ? error.message : String(error) },
      'discord: an action failed',
    );
    return { kind: 'private', message: textMessage(words.failed) };
  });

  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<null>((resolve) => {
    timer = setTimeout(() => resolve(null), desk.deferAfterMs);
  });
  const first = await Promise.race([work, late]);
  clearTimeout(timer);
  let deferred = false;
  const give = async (reply: ActionReply) => {
    if (reply.kind === 'private') return answer.tell(reply.message, deferred);
    if (reply.kind === 'form') return deferred ? answer.tell(textMessage(words.again), true) : answer.open(modalOf(reply.form));
    if (fromMessage && !deferred) return answer.leave();
    if (!deferred) await answer.defer();
    return answer.forget();
  };
  try {
    if (first === null) {
      await answer.defer();
      deferred = true;
    }
    await give(first ?? (await work));
  } catch (error) {
    if (isOver(error))
      return desk.log.info({ action: interaction.id }, 'discord: an action was answered before or came too late');
    desk.log.error(
      { action: interaction.id, fault: error instanceof Error ? error.message : String(error) },
      'discord: an answer failed',
    );
    await answer.tell(textMessage(words.failed), deferred);
  }
}
