import { wrongFlags, wrongMessage, wrongModal } from './limits.ts';
import { type Answer, bad, type Call, cdn, no, type Route } from './rest-parts.ts';
import { type Attachment, type Message, message, stored } from './shapes.ts';
import type { Json } from './spec.ts';
import type { Interaction, State } from './state.ts';

/** Routes by which interactions are answered. */
export function interactionRoutes(state: State): Route[] {
  const callback = ({ params: [id = '', token = ''], body, files }: Call): Answer => {
    const it = state.interactions.get(id);
    if (!it || it.token !== token || it.state === 'void') return no(404, 10062, 'Unknown interaction');
    if (it.state !== 'open') return no(400, 40060, 'Interaction has already been acknowledged.');
    const data = (body.data ?? {}) as Json;
    const type = body.type;
    const wrong =
      (type === 4 ? (wrongMessage(data, files) ?? (wrongFlags(data, true) ? 'flags' : null)) : null) ??
      (type === 9 ? wrongModal(data) : null) ??
      (type === 9 && it.type === 5 ? 'no form in answer to a form' : null) ??
      ((type === 6 || type === 7) && !it.withMessage ? 'no message to leave as it is' : null);
    if (wrong) return bad(wrong);
    it.state = type === 5 ? 'deferred' : 'answered';
    if ((type === 4 || type === 5) && (Number(data.flags) & 64) === 0)
      state.wrongs.push('an answer to one person was shown to all');
    if (type === 4) tell(it, data, state);
    if (type === 6) it.resolve({ kind: 'nothing' });
    if (type === 9) it.resolve(formSeen(data));
    return { status: 204 };
  };

  const hook =
    (handle: (it: Interaction, call: Call) => Answer) =>
    (call: Call): Answer => {
      const it = [...state.interactions.values()].find((i) => i.token === call.params[1]);
      if (!it || it.state === 'void' || it.state === 'open') return no(404, 10015, 'Unknown Webhook');
      return handle(it, call);
    };
  const followUp = (it: Interaction, { body, files }: Call): Answer => {
    const wrong = wrongMessage(body, files);
    if (wrong) return bad(wrong);
    if (it.state === 'answered' && (Number(body.flags) & 64) === 0)
      state.wrongs.push('a follow-up to one person was shown to all');
    it.state = 'answered';
    return { status: 200, body: tell(it, body, state) };
  };

  return [
    {
      method: 'POST',
      path: /^\/interactions\/(\d+)\/([^/]+)\/callback$/,
      open: true,
      gives: null,
      handle: callback,
      takes: [
        'CreateMessageInteractionCallbackRequest',
        'UpdateMessageInteractionCallbackRequest',
        'ModalInteractionCallbackRequest',
      ],
    },
    {
      method: 'PATCH',
      path: /^\/webhooks\/(901)\/([^/]+)\/messages\/@original$/,
      open: true,
      takes: ['IncomingWebhookUpdateRequestPartial'],
      gives: 'MessageResponse',
      handle: hook(followUp),
    },
    {
      method: 'POST',
      path: /^\/webhooks\/(901)\/([^/]+)$/,
      open: true,
      takes: ['IncomingWebhookRequestPartial'],
      gives: 'MessageResponse',
      handle: hook(followUp),
    },
    {
      method: 'DELETE',
      path: /^\/webhooks\/(901)\/([^/]+)\/messages\/@original$/,
      open: true,
      takes: null,
      gives: null,
      handle: hook((it) => {
        it.state = 'answered';
        it.resolve({ kind: 'nothing' });
        return { status: 204 };
      }),
    },
  ];
}

/** Shows an answer to the one person; a message as any other, but for its flag (1 << 6, Discord docs, message flags). */
function tell(it: Interaction, body: Json, state: State): Message {
  const content = String(body.content ?? '');
  it.bodies.push(body);
  it.texts.push(content);
  const components = stored((body.components ?? []) as Json[]);
  const more = { components, flags: 64, application_id: state.app.id, webhook_id: state.app.id };
  const attachments = ((body.attachments ?? []) as { filename: string }[]).map(({ filename }): Attachment => {
    const url = `${cdn(state)}/attachments/${it.channel}/1/${filename}`;
    return { id: state.nextId(), filename, size: 1, url, proxy_url: url };
  });
  state.answer = message(state.nextId(), it.channel, state.bot, content, attachments, more);
  it.resolve({ kind: 'private', text: '' });
  return state.answer;
}

const formSeen = (data: Json) => ({
  kind: 'form' as const,
  id: String(data.custom_id),
  title: String(data.title),
  fields: (data.components as Json[]).map((label) => {
    const input = label.component as Json;
    return { id: String(input.custom_id), label: String(label.label), required: input.required !== false };
  }),
});
