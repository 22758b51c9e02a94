import { readFileSync } from 'node:fs';
import { Ajv } from 'ajv';
import type { FileRequests, MessageRequests, ReactionRequests, ReadRequests, ViewRequests } from './requests.ts';

type Groups = {
  MessageRequests: MessageRequests;
  ViewRequests: ViewRequests;
  FileRequests: FileRequests;
  ReactionRequests: ReactionRequests;
  ReadRequests: ReadRequests;
};

const methods: { [Group in keyof Groups]: (keyof Groups[Group])[] } = {
  MessageRequests: ['chat.postMessage', 'chat.postEphemeral', 'chat.update', 'chat.delete'],
  ViewRequests: ['views.open'],
  FileRequests: ['files.completeUploadExternal', 'files.getUploadURLExternal', 'files.info', 'files.delete'],
  ReactionRequests: ['reactions.add', 'reactions.remove', 'reactions.get'],
  ReadRequests: [
    'conversations.history',
    'conversations.replies',
    'conversations.info',
    'conversations.open',
    'users.info',
    'usergroups.list',
  ],
};

/** Arguments that the types lack, though Slack's page of the method names them. */
const untyped: Record<string, string[]> = { 'files.getUploadURLExternal': ['alt_txt'] };

const ajv = new Ajv({ allErrors: true, strict: false, allowUnionTypes: true });
ajv.addSchema(JSON.parse(readFileSync(new URL('fixtures/requests.schema.json', import.meta.url), 'utf8')), 'slack');

/** Compiled when the file is loaded: it takes seconds, in which no request could be answered. */
const validators = new Map(
  Object.entries(methods).flatMap(([group, names]) =>
    names.map((name) => [name as string, ajv.compile({ $ref: `slack#/definitions/${group}/properties/${name}` })] as const),
  ),
);

type Json = { [key: string]: unknown };

/** Longest texts and most entries, which the types do not hold: Slack's Block Kit reference. */
function limitFaults(value: unknown, path: string): string[] {
  if (Array.isArray(value)) return value.flatMap((entry, index) => limitFaults(entry, `${path}/${index}`));
  if (typeof value !== 'object' || value === null) return [];
  const node = value as Json;
  const faults: string[] = [];
  const atMost = (what: string, length: number, max: number) => {
    if (length > max) faults.push(`${path}: ${what} has ${length}, at most ${max}`);
  };
  const text = (field: unknown): string => String((field as Json | undefined)?.text ?? '');
  if (typeof node.action_id === 'string') atMost('action_id', node.action_id.length, 255);
  if (typeof node.block_id === 'string') atMost('block_id', node.block_id.length, 255);
  if (node.type === 'button') atMost('button text', text(node.text).length, 75);
  if (node.type === 'actions') atMost('elements', (node.elements as unknown[]).length, 25);
  if (node.type === 'section') atMost('section text', text(node.text).length, 3000);
  if (node.type === 'rich_text') atMost('rich text', JSON.stringify(node.elements).match(/"text":"/g)?.length ?? 0, 3000);
  if (node.type === 'rich_text_section') {
    atMost(
      'rich text',
      (node.elements as Json[]).reduce((sum, one) => sum + String(one.text ?? '').length, 0),
      3001,
    );
  }
  if (node.type === 'static_select') {
    atMost('options', (node.options as unknown[]).length, 100);
    atMost('placeholder', text(node.placeholder).length, 150);
    for (const option of node.options as Json[]) {
      atMost('option text', text(option.text).length, 75);
      atMost('option value', String(option.value).length, 150);
    }
  }
  if (node.type === 'modal') {
    atMost('title', text(node.title).length, 24);
    atMost('submit', text(node.submit).length, 24);
    atMost('blocks', (node.blocks as unknown[]).length, 100);
    atMost('private_metadata', String(node.private_metadata ?? '').length, 3000);
    atMost('callback_id', String(node.callback_id ?? '').length, 255);
  }
  if (node.type === 'plain_text' && text(node).length === 0) faults.push(`${path}: empty text`);
  return [...faults, ...Object.entries(node).flatMap(([key, entry]) => limitFaults(entry, `${path}/${key}`))];
}

/** What Slack would refuse in a request of ours; empty when it is right. */
export function requestFaults(method: string, body: Json): string[] {
  const validate = validators.get(method);
  if (validate === undefined) return [];
  const args = Object.fromEntries(Object.entries(body).filter(([key]) => !untyped[method]?.includes(key)));
  const faults = validate(args)
    ? []
    : (validate.errors ?? []).slice(0, 4).map((one) => `${method}${one.instancePath}: ${one.message}`);
  const blocks = body.blocks as unknown[] | undefined;
  if (blocks !== undefined && blocks.length > 50) faults.push(`${method}: ${blocks.length} blocks, at most 50`);
  if (typeof body.text === 'string' && body.text.length > 40_000) faults.push(`${method}: text too long`);
  return [...faults, ...limitFaults(body, method)];
}

const numeric = ['limit', 'length', 'oldest_count'];
const truth = ['include_all_metadata', 'include_users', 'inclusive', 'full', 'unfurl_links', 'unfurl_media'];

/** A form-encoded body as the arguments it was made from. */
export function decodeBody(raw: string, contentType: string): Json {
  if (contentType.includes('application/json')) return JSON.parse(raw) as Json;
  const body: Json = {};
  for (const [key, value] of new URLSearchParams(raw)) {
    const json = ['blocks', 'metadata', 'view', 'files', 'file_ids'].includes(key);
    body[key] = json ? JSON.parse(value) : numeric.includes(key) ? Number(value) : truth.includes(key) ? value === 'true' : value;
  }
  return body;
}
