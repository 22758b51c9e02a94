/** Thrown inside a transaction to undo what it changed; it says nothing about a fault. */
export class Undone extends Error {}

/** What a transaction gave, or false when it was undone. */
export const orUndone = <T>(transaction: Promise<T>): Promise<T | false> =>
  transaction.catch((error: unknown) => {
    if (error instanceof Undone) return false;
    throw error;
  });
