/** A member who presses, chooses, fills in forms and types commands, and what is shown to them alone. */
import type { ActionReply, MessageRef } from '../../../src/platforms/port.ts';
import { type SeenReply, until } from '../platform-world.ts';
import type { openDelivery } from './delivery.ts';
import { type Front, tokens } from './front.ts';
import type { openPosts } from './posts.ts';
import { controls, offersOf, readBlocks, textOf } from './reading.ts';

type Json = { [key: string]: unknown };

interface Parts {
  front: Front;
  delivery: ReturnType<typeof openDelivery>;
  posts: ReturnType<typeof openPosts>;
  memberId: string;
  /** Where a form is sent from. */
  channel: string;
  /** Replies that the bot gave, so that the harness knows when there is nothing to wait for. */
  given: ActionReply['kind'][];
}

/** The presses of one member. */
export function openPresses({ front, delivery, posts, memberId, channel, given }: Parts) {
  /** The newest message that the member alone sees, as the adapter sent it. */
  let answer: { channel: string; thread: string | null; ts: string; blocks: Json[]; files: string[] } | null = null;

  /** Waits for what the presser is shown after `act`, or for the bot's word that there is nothing. */
  async function shownAfter(channelId: string, act: () => Promise<void>): Promise<SeenReply> {
    const [calls, responses, replies] = [front.calls.length, front.responses.length, given.length];
    await act();
    return until('an answer to the action', () => {
      const fresh = front.calls.slice(calls);
      const view = fresh.find((call) => call.method === 'views.open' && call.answer.ok === true)?.body.view as Json | undefined;
      if (view !== undefined) {
        const fields = (view.blocks as Json[]).map((block) => ({
          id: String(block.block_id),
          label: textOf(block.label),
          required: block.optional !== true,
        }));
        const wanted = { kind: 'form' as const, id: String(view.callback_id), title: textOf(view.title), fields };
        return wanted;
      }
      const body =
        front.responses[responses] ?? fresh.find((call) => call.method === 'chat.postEphemeral' && call.answer.ok === true)?.body;
      if (body !== undefined) {
        if (body.response_type !== undefined && body.response_type !== 'ephemeral')
          throw new Error('harness: shown to everybody');
        if (body.user !== undefined && body.user !== memberId) throw new Error('harness: shown to somebody else');
        answer = {
          channel: String(body.channel ?? channelId),
          thread: typeof body.thread_ts === 'string' ? body.thread_ts : null,
          ts: `${Date.now() / 1000}`,
          blocks: body.blocks as Json[],
          // Slack takes no files in such a message: they come before it as a direct one.
          files: fresh.filter(({ method }) => method === 'files.getUploadURLExternal').map((call) => String(call.body.filename)),
        };
        return { kind: 'private' as const, text: readBlocks(body.blocks as Json[], new Set()) };
      }
      return given.slice(replies).includes('nothing') ? { kind: 'nothing' as const } : null;
    });
  }

  const trigger = async () => String((await front.call('views.generateTriggerId', { user_id: memberId }, tokens.bot)).trigger_id);
  const user = { id: memberId, username: 'juno', name: 'juno', team_id: 'T000000001' };
  const headOf = async (type: 'block_actions' | 'view_submission') => ({
    ...{ type, team: { id: 'T000000001', domain: 'millrace' }, user },
    ...{ api_app_id: 'A000000001', token: 'x', trigger_id: await trigger() },
  });

  /** `carried`: what says in which message the element stands; `blocks`: of that message. */
  async function pressIn(channelId: string, blocks: Json[], carried: Json, id: string, value: string | null): Promise<SeenReply> {
    const element = controls(blocks).find((one) => one.action_id === id);
    if (element === undefined) throw new Error(`harness: no element ${id}`);
    const action_ts = `${Date.now() / 1000}${Math.random().toString().slice(2, 6)}`;
    const option = (element.options as Json[] | undefined)?.find((one) => one.value === value);
    if (value !== null && option === undefined) throw new Error(`harness: no option ${value}`);
    return shownAfter(channelId, async () =>
      delivery.deliverInteraction({
        ...(await headOf('block_actions')),
        channel: { id: channelId, name: 'x' },
        ...carried,
        response_url: `${front.url}/response/action`,
        actions: [{ ...element, block_id: 'b', action_ts, ...(option === undefined ? {} : { selected_option: option }) }],
      }),
    );
  }

  async function pressElement(where: MessageRef, id: string, value: string | null): Promise<SeenReply> {
    const message = await posts.stored(where);
    const container = {
      type: 'message',
      message_ts: where.message,
      channel_id: where.channel,
      is_ephemeral: false,
      ...(where.thread ? { thread_ts: where.thread } : {}),
    };
    return pressIn(where.channel, message?.blocks ?? [], { container, message: { ...message, type: 'message' } }, id, value);
  }

  /** Of a message that one person alone sees Slack tells the place and nothing else (a payload in slackapi/java-slack-sdk, issue 1200). */
  async function pressInAnswer(id: string, value: string | null): Promise<SeenReply> {
    if (answer === null) throw new Error('harness: nothing was answered');
    const { channel: channelId, thread, ts, blocks } = answer;
    const threaded = thread === null ? {} : { thread_ts: thread };
    const container = { type: 'message', message_ts: ts, channel_id: channelId, is_ephemeral: true, ...threaded };
    return pressIn(channelId, blocks, { container }, id, value);
  }

  async function typeCommand(place: string, text: string): Promise<SeenReply> {
    const body = {
      token: 'x',
      team_id: 'T000000001',
      team_domain: 'millrace',
      channel_id: place,
      channel_name: 'x',
      user_id: memberId,
      user_name: 'juno',
      command: '/quarterview',
      text,
      api_app_id: 'A000000001',
      response_url: `${front.url}/response/command`,
      trigger_id: await trigger(),
    };
    return shownAfter(place, () => delivery.deliverCommand(body));
  }

  async function submit(formId: string, values: Record<string, string>): Promise<SeenReply> {
    const opened = front.calls.findLast(
      (call) => call.method === 'views.open' && (call.body.view as Json).callback_id === formId,
    );
    if (opened === undefined) throw new Error(`harness: no form ${formId} is open`);
    const view = opened.answer.view as Json;
    const state = Object.fromEntries(
      (view.blocks as Json[]).map((block) => {
        const element = block.element as Json;
        const value = values[String(block.block_id)];
        const option = (element.options as Json[] | undefined)?.find((one) => one.value === value) ?? null;
        const filled =
          element.type === 'static_select'
            ? { type: element.type, selected_option: option }
            : { type: element.type, value: value ?? null };
        return [block.block_id, { [String(element.action_id)]: filled }];
      }),
    );
    return shownAfter(channel, async () =>
      delivery.deliverInteraction({
        ...(await headOf('view_submission')),
        view: { ...view, state: { values: state } },
        response_urls: [],
      }),
    );
  }

  return {
    pressElement,
    pressInAnswer,
    typeCommand,
    submit,
    answerOffers: () => ({ ...offersOf(answer?.blocks ?? []), files: answer?.files ?? [] }),
  };
}
