import { boxesOf } from './iso-boxes.ts';
import { type Mutator, oddNumber } from './values.ts';

/** Tables and headers of ISO base media (ISO/IEC 14496-12, clause 8) whose numbers a reader believes. */
const tables =
  'stts ctts stsc stsz stco co64 stss sdtp mvhd mdhd tkhd hdlr stsd avcC hvcC vpcC av1C trun tfhd tfdt trex sidx tfra'.split(' ');

/** Harms some 32-bit numbers of one of the boxes that `types` names, the count in front more often than the rest. */
const numbersOf = (name: string, types: readonly string[], most: number): Mutator => ({
  name,
  change(data, random) {
    const boxes = boxesOf(data).filter((one) => types.includes(one.type) && one.end - one.body >= 8);
    if (boxes.length === 0) return null;
    const { body, end } = random.pick(boxes);
    const changed = Buffer.from(data);
    for (let n = random.int(1, most); n > 0; n--) {
      const at = random.chance(0.4) ? body + 4 : body + 4 * random.int(0, Math.floor((end - body) / 4) - 1);
      changed.writeUInt32BE(oddNumber(random, changed.readUInt32BE(at)), at);
    }
    return changed;
  },
});

const sine = [0, 65536, -65536, 46341, -46341, 0x7fffffff, -0x80000000, 1];

/** Harm to what the tables say. */
export const sampleTables: Mutator[] = [
  numbersOf('table', tables, 6),
  numbersOf('times', ['stts', 'ctts', 'mdhd', 'mvhd', 'tfdt', 'trun'], 3),
  numbersOf('sizes and places', ['stsz', 'stsc', 'stco', 'co64'], 3),
  numbersOf('edit list', ['elst'], 4),
  {
    name: 'display matrix',
    change(data, random) {
      const headers = boxesOf(data).filter(({ type, body, end }) => type === 'tkhd' && end - body >= 84);
      if (headers.length === 0) return null;
      const { body } = random.pick(headers);
      const changed = Buffer.from(data);
      const matrix = body + (changed[body] === 1 ? 52 : 40);
      for (let cell = 0; cell < 9; cell++)
        if (random.chance(0.5))
          changed.writeInt32BE(random.chance(0.8) ? random.pick(sine) : random.int(-0x80000000, 0x7fffffff), matrix + 4 * cell);
      if (random.chance(0.3)) changed.writeUInt32BE(oddNumber(random), body + (changed[body] === 1 ? 88 : 76));
      return changed;
    },
  },
  {
    name: 'picture size',
    change(data, random) {
      const entries = boxesOf(data).filter(
        ({ type, body, end }) => /^(avc1|hvc1|hev1|vp09|av01)$/.test(type) && end - body >= 78,
      );
      if (entries.length === 0) return null;
      const { body } = random.pick(entries);
      const changed = Buffer.from(data);
      for (const at of [24, 26]) if (random.chance(0.7)) changed.writeUInt16BE(oddNumber(random, 64) & 0xffff, body + at);
      return changed;
    },
  },
];
