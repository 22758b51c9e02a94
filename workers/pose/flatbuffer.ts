/** A table in a FlatBuffer (the format of .tflite files): fields are found by their number in the schema. */
export type Table = {
  /** Scalar fields; `fallback` is the schema's default, which writers leave out. */
  int8(field: number, fallback?: number): number;
  int32(field: number, fallback?: number): number;
  text(field: number): string;
  table(field: number): Table | undefined;
  tables(field: number): Table[];
  int32s(field: number): number[];
  /** A vector's bytes as a view (no copy) of the file; `width` is the size of one element. Undefined when absent or empty. */
  bytes(field: number, width: number): Uint8Array | undefined;
};

/** Reads the root table of a FlatBuffer. Throws RangeError when an offset points outside the file. */
export function readRoot(file: Uint8Array): Table {
  const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
  return tableAt(view, view.getUint32(0, true));
}

function tableAt(view: DataView, at: number): Table {
  const vtable = at - view.getInt32(at, true);
  const vtableBytes = view.getUint16(vtable, true);
  const place = (field: number) => {
    const slot = 4 + 2 * field;
    const offset = slot < vtableBytes ? view.getUint16(vtable + slot, true) : 0;
    return offset === 0 ? undefined : at + offset;
  };
  const follow = (from: number) => from + view.getUint32(from, true);
  const vector = (field: number) => {
    const from = place(field);
    if (from === undefined) return { start: 0, length: 0 };
    const start = follow(from);
    return { start: start + 4, length: view.getUint32(start, true) };
  };
  const bytes = (field: number, width: number) => {
    const { start, length } = vector(field);
    return length === 0 ? undefined : new Uint8Array(view.buffer, view.byteOffset + start, length * width);
  };
  return {
    int8: (field, fallback = 0) => {
      const from = place(field);
      return from === undefined ? fallback : view.getInt8(from);
    },
    int32: (field, fallback = 0) => {
      const from = place(field);
      return from === undefined ? fallback : view.getInt32(from, true);
    },
    text: (field) => new TextDecoder().decode(bytes(field, 1) ?? new Uint8Array()),
    table: (field) => {
      const from = place(field);
      return from === undefined ? undefined : tableAt(view, follow(from));
    },
    tables: (field) => {
      const { start, length } = vector(field);
      return Array.from({ length }, (_, i) => tableAt(view, follow(start + 4 * i)));
    },
    int32s: (field) => {
      const { start, length } = vector(field);
      return Array.from({ length }, (_, i) => view.getInt32(start + 4 * i, true));
    },
    bytes,
  };
}
