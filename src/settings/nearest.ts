/** Number of letters to insert, delete or replace to make `a` into `b` (Levenshtein 1966). */
function editsBetween(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next.push(Math.min(next[j - 1]! + 1, row[j]! + 1, row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1)));
    }
    row = next;
  }
  return row[b.length]!;
}

/** The name most like `typed`, or null when none is near (more than half of its letters differ). */
export function nearestName(typed: string, names: readonly string[]): string | null {
  if (typed.length > 100) return null;
  const [best] = names
    .map((name) => ({ name, edits: editsBetween(typed.toLowerCase(), name.toLowerCase()) }))
    .sort((a, b) => a.edits - b.edits);
  return best !== undefined && best.edits <= Math.max(1, Math.floor(Math.max(typed.length, best.name.length) / 2))
    ? best.name
    : null;
}
