// Makes sure that the programs the tests start are on this machine; installs Debian's packages when it may, else says what to install.
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, readdirSync } from 'node:fs';

const packages = { ffmpeg: 'ffmpeg', 'redis-server': 'redis-server', chromium: 'chromium', postgres: 'postgresql' };
const onPath = (name) => spawnSync('sh', ['-c', `command -v ${name}`]).status === 0;
const hasPostgres = () =>
  existsSync('/usr/lib/postgresql') &&
  readdirSync('/usr/lib/postgresql').some((v) => existsSync(`/usr/lib/postgresql/${v}/bin/initdb`));
const missing = process.argv
  .slice(2)
  .filter((name) => (name === 'postgres' ? !hasPostgres() && !onPath('initdb') : !onPath(name)));
if (missing.length > 0) {
  const names = missing.map((name) => packages[name] ?? name);
  const root = process.getuid?.() === 0;
  if (!root || !onPath('apt-get')) {
    console.error(`The tests need: ${missing.join(', ')}. On Debian or Ubuntu: sudo apt-get install ${names.join(' ')}`);
    process.exit(1);
  }
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  execFileSync('apt-get', ['update', '-qq'], { stdio: ['ignore', 'ignore', 'inherit'], env });
  execFileSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', ...names], {
    stdio: ['ignore', 'ignore', 'inherit'],
    env,
  });
}
