import { randomInt } from 'node:crypto';
import { once } from 'node:events';
import { createServer } from 'node:net';

/** Lowest port handed out, and how many: below 32768, where Linux begins to pick ports by itself, so that nobody is given one by chance. */
const [lowest, count] = [20_000, 12_000];
/** Each process begins somewhere else and goes on from there. */
let next = randomInt(count);

/** A TCP port of 127.0.0.1 on which nobody listens, and which this process gives once. */
export async function freePort(): Promise<number> {
  for (;;) {
    const port = lowest + (next++ % count);
    const server = createServer().listen(port, '127.0.0.1');
    const [fault] = (await Promise.race([once(server, 'listening'), once(server, 'error')])) as [unknown?];
    server.close();
    if (fault === undefined) {
      await once(server, 'close');
      return port;
    }
  }
}
