import { readFileSync } from 'node:fs';

/** Which of these words stand anywhere in the database's files, its log among them. */
export function onDisk(file: string, words: readonly string[]): string[] {
  const bytes = ['', '-wal', '-shm', '-journal'].map((ending) => {
    try {
      return readFileSync(`${file}${ending}`);
    } catch {
      return Buffer.alloc(0);
    }
  });
  return words.filter((word) => bytes.some((one) => one.includes(word)));
}
