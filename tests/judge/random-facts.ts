import { z } from 'zod';
import { Facts } from '../../src/facts/facts.ts';

/** Mulberry32, a small seeded generator of numbers in [0, 1); public domain, T. Ettinger. */
export function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Values at and beyond the edges of sense, which a valid number may still take. */
const odd = [0, 1e-12, 0.5, 1, 22.5, 90, 180, 359.9, 1e6];

function numberFor(
  schema: { minValue: number | null; maxValue: number | null; isInt: boolean; positive: boolean },
  random: () => number,
): number {
  const low = schema.minValue ?? Number.NEGATIVE_INFINITY;
  const high = schema.maxValue ?? Number.POSITIVE_INFINITY;
  let value = random() < 0.3 ? odd[Math.floor(random() * odd.length)]! : random() * 10 ** (random() * 4 - 1);
  if (low < 0 && random() < 0.5) value = -value;
  if (schema.isInt) value = Math.round(value);
  value = Math.min(high, Math.max(low, value));
  return schema.positive && value <= 0 ? 1 : value;
}

/** A random value that the schema accepts, walking the schema itself, so that new facts are covered without a change here. */
function randomOf(schema: z.ZodType, random: () => number): unknown {
  if (schema instanceof z.ZodObject) {
    return Object.fromEntries(
      Object.entries(schema.shape as Record<string, z.ZodType>).flatMap(([key, inner]) =>
        inner instanceof z.ZodOptional && random() < 0.4 ? [] : [[key, randomOf(inner, random)]],
      ),
    );
  }
  if (schema instanceof z.ZodOptional || schema instanceof z.ZodDefault) return randomOf(schema.unwrap() as z.ZodType, random);
  if (schema instanceof z.ZodNullable) return random() < 0.4 ? null : randomOf(schema.unwrap() as z.ZodType, random);
  if (schema instanceof z.ZodDiscriminatedUnion) {
    const [sure, unsure] = schema.options as unknown as z.ZodType[];
    return randomOf(random() < 0.75 ? sure! : unsure!, random);
  }
  if (schema instanceof z.ZodArray)
    return Array.from({ length: Math.floor(random() * 4) }, () => randomOf(schema.element as z.ZodType, random));
  if (schema instanceof z.ZodEnum) return schema.options[Math.floor(random() * schema.options.length)];
  if (schema instanceof z.ZodLiteral) return schema.value;
  if (schema instanceof z.ZodBoolean) return random() < 0.5;
  if (schema instanceof z.ZodString) return random() < 0.5 ? '' : 'text';
  if (schema instanceof z.ZodNumber) {
    return numberFor(
      {
        minValue: schema.minValue,
        maxValue: schema.maxValue,
        isInt: schema.format === 'safeint',
        positive: !schema.safeParse(0).success,
      },
      random,
    );
  }
  throw new Error(`no random value for ${schema.constructor.name}`);
}

/** Random but valid facts; most make no sense together. */
export function randomFacts(random: () => number): Facts {
  return Facts.parse(randomOf(Facts, random));
}
