/** Discord's own REST schemas (npm discord-api-spec, zod schemas made from Discord's official OpenAPI), as checks of the fake server. */
import { isDeepStrictEqual } from 'node:util';
// @ts-expect-error the package ships its schemas without types
import * as schemas from 'discord-api-spec/zod';

interface Schema {
  safeParse(value: unknown): { success: true; data: unknown } | { success: false; error: { message: string } };
}

export type Json = { [key: string]: unknown };

/** A schema by its name in the package, without the ending `Schema`. */
function schema(name: string): Schema {
  const found = (schemas as Record<string, Schema | undefined>)[`${name}Schema`];
  if (!found) throw new Error(`discord-api-spec has no schema ${name}`);
  return found;
}

/** What is wrong with a body by one of the named schemas; unknown fields count, which the schemas alone let pass. Null when all is well. */
export function wrongWith(names: string | string[], value: unknown): string | null {
  const wrongs: string[] = [];
  for (const name of [names].flat()) {
    const read = schema(name).safeParse(value);
    if (read.success && isDeepStrictEqual(read.data, value)) return null;
    wrongs.push(read.success ? `${name}: unknown fields in ${JSON.stringify(value)}` : `${name}: ${read.error.message}`);
  }
  return wrongs.join('\n');
}

/** True when an array's every item is right by the schema. */
export function wrongItem(name: string, values: unknown[]): string | null {
  return values.map((value) => wrongWith(name, value)).find((wrong) => wrong !== null) ?? null;
}
