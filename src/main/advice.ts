import type { SettingsFile } from '../settings/schema.ts';

/** What to change after a fault of the system, null where only the fault's own words can tell. */
export function adviceFor(error: unknown, settings: Pick<SettingsFile, 'room' | 'operator' | 'slack'>): string | null {
  const { syscall, code, port } = (error ?? {}) as { syscall?: unknown; code?: unknown; port?: unknown };
  if (syscall === 'listen') {
    const names = (['room', 'operator', 'slack'] as const).filter((name) => settings[name].port === port);
    const change = names.map((name) => `${name}.port`).join(' or ') || 'the port';
    if (code === 'EADDRINUSE') return `Another program has this port: end it, or change ${change} in config/settings.yaml`;
    if (code === 'EACCES') return `This user may not take this port: change ${change} in config/settings.yaml to 1024 or more`;
    const host = names.map((name) => `${name}.host`).join(' or ') || 'the host';
    if (code === 'EADDRNOTAVAIL' || code === 'ENOTFOUND')
      return `This computer has no such address: change ${host} in config/settings.yaml, or OPERATOR_HOST`;
  }
  if (code === 'EACCES' || code === 'EROFS' || code === 'EPERM')
    return 'Give this user the right to write there, or name another folder in DATA_FOLDER';
  if (code === 'ENOSPC') return 'Make room on the disk, or name another folder in DATA_FOLDER';
  return null;
}
