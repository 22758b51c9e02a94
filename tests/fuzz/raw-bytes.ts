import { type Mutator, oddNumber, randomBytes, splice } from './values.ts';

/** Harm that knows nothing of the format. */
export const rawBytes: Mutator[] = [
  {
    name: 'bits',
    change(data, random) {
      const changed = Buffer.from(data);
      for (let n = random.int(1, 20); n > 0; n--) {
        const at = random.int(0, data.length - 1);
        changed[at] = changed[at]! ^ (1 << random.int(0, 7));
      }
      return changed;
    },
  },
  { name: 'cut off', change: (data, random) => data.subarray(0, random.int(1, data.length)) },
  {
    name: 'cut out',
    change: (data, random) => splice(data, random.int(0, data.length - 1), random.int(1, 2000), Buffer.alloc(0)),
  },
  {
    name: 'block',
    change(data, random) {
      const at = random.int(0, data.length - 1);
      const length = random.int(1, 500);
      const block = random.pick([randomBytes(random, length), Buffer.alloc(length), Buffer.alloc(length, 0xff)]);
      return splice(data, at, random.chance(0.7) ? length : 0, block);
    },
  },
  {
    name: 'number',
    change(data, random) {
      if (data.length < 4) return null;
      const changed = Buffer.from(data);
      const at = random.int(0, data.length - 4);
      changed.writeUInt32BE(oddNumber(random, data.readUInt32BE(at)), at);
      return changed;
    },
  },
  {
    name: 'again',
    change(data, random) {
      const at = random.int(0, data.length - 1);
      const piece = data.subarray(at, at + random.int(1, 3000));
      return splice(data, random.int(0, data.length), 0, Buffer.concat(Array.from({ length: random.int(1, 40) }, () => piece)));
    },
  },
];
