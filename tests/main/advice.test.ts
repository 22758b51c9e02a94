import { once } from 'node:events';
import { createServer } from 'node:net';
import { expect, it } from 'vitest';
import { adviceFor } from '../../src/main/advice.ts';
import { parseSettings } from '../../src/settings/load.ts';

/** The fault of listening there. */
async function faultOf(port: number, host: string): Promise<unknown> {
  const server = createServer().listen(port, host);
  const [fault] = await Promise.race([once(server, 'error'), once(server, 'listening').then(() => [null])]);
  server.close();
  return fault;
}

it('names the setting of a port that is taken', async () => {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as { port: number };
  const fault = await faultOf(port, '127.0.0.1');
  server.close();
  const settings = (text: string) => parseSettings(text, 'settings.yaml');
  expect(adviceFor(fault, settings(`room: { port: ${port} }`))).toMatch(/change room\.port in config\/settings\.yaml/);
  expect(adviceFor(fault, settings(`operator: { port: ${port} }`))).toContain('change operator.port in');
  expect(adviceFor(fault, settings(`slack: { port: ${port} }`))).toContain('change slack.port in');
  expect(adviceFor(fault, settings(''))).toContain('change the port in');
});

it('names the setting of an address that is not there', async () => {
  const fault = await faultOf(8420, '192.0.2.7'); // RFC 5737: an address of nobody
  expect(adviceFor(fault, parseSettings('', 'settings.yaml'))).toMatch(/no such address: change room\.host/);
});

it('names the folder that cannot be written, and leaves other faults alone', () => {
  const settings = parseSettings('', 'settings.yaml');
  expect(adviceFor(Object.assign(new Error('x'), { code: 'EACCES', syscall: 'open' }), settings)).toContain('DATA_FOLDER');
  expect(adviceFor(Object.assign(new Error('x'), { code: 'ENOSPC', syscall: 'write' }), settings)).toContain('DATA_FOLDER');
  expect(adviceFor(new Error('x'), settings)).toBe(null);
  expect(adviceFor(undefined, settings)).toBe(null);
});
