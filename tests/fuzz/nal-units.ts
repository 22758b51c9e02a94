import type { Random } from '../faults/random.ts';
import { boxesOf } from './iso-boxes.ts';
import { type Mutator, oddNumber, randomBytes, splice } from './values.ts';

/** NAL units with a length of four bytes before each (ISO/IEC 14496-15): [place of the length, length]. */
function unitsOf(data: Buffer): [number, number][] {
  const units: [number, number][] = [];
  for (const { type, body, end } of boxesOf(data)) {
    if (type !== 'mdat') continue;
    for (let at = body; at + 5 <= end; ) {
      const length = data.readUInt32BE(at);
      if (length === 0 || at + 4 + length > end) break;
      units.push([at, length]);
      at += 4 + length;
    }
  }
  return units;
}

/** The parameter sets in the sample entry, which tell the decoder sizes and counts. */
const setsOf = (data: Buffer) => boxesOf(data).filter(({ type }) => /^(avcC|hvcC|vpcC|av1C)$/.test(type));

/** Writes numbers as H.264 does: Exp-Golomb (ITU-T H.264, 9.1). */
class Bits {
  private text = '';
  fixed(value: number, width: number): this {
    this.text += value.toString(2).padStart(width, '0');
    return this;
  }
  golomb(value: number): this {
    const binary = (value + 1).toString(2);
    this.text += '0'.repeat(binary.length - 1) + binary;
    return this;
  }
  bytes(): Buffer {
    const whole = `${this.text}1`.padEnd(8 * Math.ceil((this.text.length + 1) / 8), '0');
    return Buffer.from(whole.match(/.{8}/g)!.map((byte) => Number.parseInt(byte, 2)));
  }
}

/** A sequence parameter set of H.264 (7.3.2.1.1, baseline) that claims a picture of any size. */
function sequenceSet(random: Random): Buffer {
  const side = () => random.pick([0, 3, 100, 1000, 4095, 65535, 1_000_000]);
  const bits = new Bits()
    .fixed(66, 8)
    .fixed(0, 8)
    .fixed(random.pick([10, 40, 62, 255]), 8)
    .golomb(random.pick([0, 0, 31, 32]));
  bits
    .golomb(random.int(0, 12))
    .golomb(0)
    .golomb(random.int(0, 20))
    .golomb(random.pick([0, 1, 16, 1000]))
    .fixed(0, 1);
  return Buffer.concat([Buffer.from([0x67]), bits.golomb(side()).golomb(side()).fixed(1, 1).fixed(0, 3).bytes()]);
}

/** Harm to the coded pictures. */
export const nalUnits: Mutator[] = [
  {
    name: 'NAL length',
    change(data, random) {
      const units = unitsOf(data);
      if (units.length === 0) return null;
      const changed = Buffer.from(data);
      const [at, length] = random.pick(units);
      changed.writeUInt32BE(oddNumber(random, length), at);
      return changed;
    },
  },
  {
    name: 'NAL bits',
    change(data, random) {
      const units = unitsOf(data);
      if (units.length === 0) return null;
      const changed = Buffer.from(data);
      for (let n = random.int(1, 12); n > 0; n--) {
        const [at, length] = random.pick(units);
        const byte = at + 4 + random.int(0, Math.min(length - 1, random.pick([0, 8, 40, 4000])));
        changed[byte] = changed[byte]! ^ (1 << random.int(0, 7));
      }
      return changed;
    },
  },
  {
    name: 'NAL replaced',
    change(data, random) {
      const units = unitsOf(data);
      if (units.length === 0) return null;
      const [at, length] = random.pick(units);
      const unit = random.pick([() => sequenceSet(random), () => randomBytes(random, length), () => Buffer.alloc(length)])();
      const same = Buffer.concat([unit, Buffer.alloc(Math.max(0, length - unit.length))]).subarray(0, length);
      return splice(data, at + 4, length, same);
    },
  },
  {
    name: 'parameter sets',
    change(data, random) {
      const sets = setsOf(data);
      if (sets.length === 0) return null;
      const { type, body, end } = random.pick(sets);
      const changed = Buffer.from(data);
      if (type === 'avcC' && random.chance(0.4)) {
        const set = sequenceSet(random); // the set begins after six bytes and its length of two (14496-15, 5.3.3.1)
        const room = Math.max(0, end - body - 8);
        set.copy(changed, body + 8, 0, Math.min(set.length, room));
        return changed;
      }
      for (let n = random.int(1, 10); n > 0; n--) {
        const at = random.int(body, end - 1);
        changed[at] = random.chance(0.5) ? changed[at]! ^ (1 << random.int(0, 7)) : random.int(0, 255);
      }
      return changed;
    },
  },
];
