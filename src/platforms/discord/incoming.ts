import { type APIGuildMember, type APIMessage, type APIUser, MessageReferenceType, MessageType } from 'discord.js';
import type { IncomingMessage, MessageRef, Person } from '../port.ts';
import type { Place } from './places.ts';

/** What a message or an interaction tells of a member: nickname in the server and roles. */
export type MemberPart = Pick<APIGuildMember, 'roles' | 'nick'>;

export function personOf(user: APIUser, member: Partial<MemberPart> | null, machine = false): Person {
  return {
    platform: 'discord',
    id: user.id,
    name: member?.nick ?? user.global_name ?? user.username,
    groups: [...(member?.roles ?? [])],
    isBot: machine || user.bot === true || user.system === true,
  };
}

export function refOf(place: Place, message: string): MessageRef {
  return { platform: 'discord', channel: place.channel, message, thread: place.thread };
}

/** The Discord channel that holds a message: its thread when it stands in one. */
export function channelOf(ref: MessageRef): string {
  return ref.thread ?? ref.channel;
}

/** A thread carries the id of the message that opened it; a plain reply names the message that it answers. */
function threadStartOf(message: APIMessage, place: Place): MessageRef | null {
  if (place.thread !== null) {
    const start = { ...refOf(place, place.thread), thread: place.forum ? place.thread : null };
    return message.id === place.thread ? null : start;
  }
  const answered = message.message_reference;
  if (message.type !== MessageType.Reply || answered?.type === MessageReferenceType.Forward) return null;
  return answered?.message_id && answered.channel_id === message.channel_id ? refOf(place, answered.message_id) : null;
}

/** True for what a person or app wrote, false for notices (joins, pins, "started a thread"). */
export function isWritten(message: APIMessage): boolean {
  return message.type === MessageType.Default || message.type === MessageType.Reply;
}

export function incomingOf(message: APIMessage, place: Place, member: Partial<MemberPart> | null): IncomingMessage {
  return {
    ref: refOf(place, message.id),
    threadStart: threadStartOf(message, place),
    author: personOf(message.author, member, message.webhook_id !== undefined),
    text: message.content,
    files: message.attachments.map((file) => ({
      id: file.id,
      name: file.filename,
      contentType: file.content_type ?? null,
      bytes: file.size,
    })),
    sentAtMs: Date.parse(message.timestamp),
  };
}
