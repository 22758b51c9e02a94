/** Part of a protocol buffer message, kept as pieces so that weights are copied once, when the message is joined. */
export type Pieces = Uint8Array[];

function varint(value: number): Uint8Array {
  const bytes: number[] = [];
  let rest = value < 0 ? BigInt.asUintN(64, BigInt(value)) : BigInt(value);
  while (rest > 127n) {
    bytes.push(Number(rest & 127n) | 128);
    rest >>= 7n;
  }
  bytes.push(Number(rest));
  return Uint8Array.from(bytes);
}

const key = (field: number, wire: 0 | 2) => varint(field * 8 + wire);

/** A whole-number field (varint; negative numbers take ten bytes, as int64 does). */
export const int = (field: number, value: number): Pieces => [key(field, 0), varint(value)];

/** A bytes field; the bytes are not copied. */
export const bytes = (field: number, value: Uint8Array): Pieces => [key(field, 2), varint(value.byteLength), value];

/** A string field. */
export const text = (field: number, value: string): Pieces => bytes(field, new TextEncoder().encode(value));

/** A nested message. */
export function message(field: number, ...parts: Pieces[]): Pieces {
  const pieces = parts.flat();
  return [key(field, 2), varint(byteLength(pieces)), ...pieces];
}

/** Joins the pieces into one buffer. */
export function join(...parts: Pieces[]): Uint8Array {
  const pieces = parts.flat();
  const out = new Uint8Array(byteLength(pieces));
  let at = 0;
  for (const piece of pieces) {
    out.set(piece, at);
    at += piece.byteLength;
  }
  return out;
}

const byteLength = (pieces: Pieces) => pieces.reduce((sum, piece) => sum + piece.byteLength, 0);
