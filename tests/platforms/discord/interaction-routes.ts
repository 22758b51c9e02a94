import { wrongFlags, wrongMessage, wrongModal } from './limits.ts';
import { type Answer, bad, type Call, no, type Route } from './rest-parts.ts';
import { message } from './shapes.ts';
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
    if (type === 4) tell(it, data);
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
  const asMessage = (body: Json) => message(state.nextId(), '801', state.bot, String(body.content ?? ''), [], { flags: 64 });
  const followUp = (it: Interaction, { body, files }: Call): Answer => {
    const wrong = wrongMessage(body, files);
    if (wrong) return bad(wrong);
    if (it.state === 'answered' && (Number(body.flags) & 64) === 0)
      state.wrongs.push('a follow-up to one person was shown to all');
    it.state = 'answered';
    tell(it, body);
    return { status: 200, body: asMessage(body) };
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

function tell(it: Interaction, body: Json): void {
  it.bodies.push(body);
  it.texts.push(String(body.content ?? ''));
  it.resolve({ kind: 'private', text: '' });
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
