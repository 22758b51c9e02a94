import { createSocket } from 'node:dgram';
import { once } from 'node:events';
import { type AddressInfo, createServer } from 'node:net';

/** Listens on the loopback for anything that a hostile clip makes somebody send. */
export async function startTrap() {
  let caught = 0;
  const tcp = createServer((socket) => {
    caught++;
    socket.on('error', () => {}).destroy();
  });
  tcp.listen(0, '127.0.0.1');
  await once(tcp, 'listening');
  const { port } = tcp.address() as AddressInfo;
  const udp = createSocket('udp4', () => {
    caught++;
  });
  udp.bind(port, '127.0.0.1');
  await once(udp, 'listening');
  return {
    port,
    /** Connections and datagrams so far. */
    caught: () => caught,
    close() {
      udp.close();
      tcp.close();
    },
  };
}
