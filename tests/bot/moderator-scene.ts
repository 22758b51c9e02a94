/** What moderators do on a scene of a Monday. Importing this opens a scene before each test of the file and closes it after. */
import { afterEach, beforeEach, expect } from 'vitest';
import type { NewEvidence } from '../../src/ledger/port.ts';
import type { Action, ActionReply } from '../../src/platforms/port.ts';
import { createScene } from './setup.ts';
import { keepSquat } from './stored-clip.ts';

/** The scene of the test that runs. */
export let scene: Awaited<ReturnType<typeof createScene>>;
export const dayMs = 24 * 3_600_000;
/** Monday, 23 November 2026, 08:00 UTC. */
export const mondayMs = Date.UTC(2026, 10, 23, 8);

beforeEach(async () => {
  scene = await createScene();
  scene.clock.nowMs = mondayMs;
});
afterEach(async () => {
  expect(scene.errors).toEqual([]);
  await scene.close();
});

export function messageOf(reply: ActionReply) {
  if (reply.kind !== 'private') throw new Error(`no private answer but ${reply.kind}`);
  return reply.message;
}
export function formOf(reply: ActionReply) {
  if (reply.kind !== 'form') throw new Error(`no form but ${JSON.stringify(reply)}`);
  return reply.form;
}
export const act = (kind: Action['kind'], id: string, values: Record<string, string> = {}, more: Partial<Action> = {}) =>
  scene.world.act({ kind, id, values, ...more }, 'wren', ['moderator']);
export const said = async (...given: Parameters<typeof act>) => messageOf(await act(...given));
/** Presses what opens a form, and sends it. */
export async function sent(id: string, values: Record<string, string>) {
  const form = formOf(await act('button', id));
  expect(Object.keys(values).every((name) => form.fields.some((field) => field.id === name))).toBe(true);
  return said('form', form.id, values);
}

export const stored = (id: string, deg: number, evidence: Partial<NewEvidence>[] = [], atMs = mondayMs - dayMs) =>
  keepSquat(scene.ledger, id, deg, { evidence, atMs });
export const behind = '[{ fromDeg: 112.5, toDeg: 180, aimDeg: 135 }]';
const toBehind = { lift: 'squat', option: 'zones', value: behind };
export const newest = async () => (await scene.ledger.rules.newest())!;
/** What the last proposal's button says. */
export async function proposed(values: Record<string, string> = toBehind, rule = 'view') {
  const message = await sent(`rule-change:${rule}`, values);
  return { ...message, apply: message.buttons.find(({ id }) => id.startsWith('rules-apply:'))?.id ?? '' };
}
