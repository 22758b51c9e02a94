/** One line that is written over again; nothing at all where the stream is no terminal. */
export interface ProgressLine {
  show(text: string): void;
  /** Takes the line away, so that something else can be printed. */
  clear(): void;
}

/** A progress line on a stream, cut to the terminal's width. */
export function progressLine(stream: Pick<NodeJS.WriteStream, 'write'> & { isTTY?: boolean; columns?: number }): ProgressLine {
  if (!stream.isTTY) return { show() {}, clear() {} };
  const write = (text: string) => void stream.write(`\r\x1b[2K${text}`); // ECMA-48: erase in line
  return { show: (text) => write([...text].slice(0, (stream.columns ?? 80) - 1).join('')), clear: () => write('') };
}
