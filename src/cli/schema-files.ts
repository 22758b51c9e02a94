import { z } from 'zod';
import { settingsJsonSchemas } from '../settings/json-schema.ts';
import { CheckResult } from './check-result.ts';

/** JSON Schemas (draft 7) by their file in config/, as text. */
export function schemaFiles(): Record<string, string> {
  const result = z.toJSONSchema(CheckResult, { target: 'draft-7', reused: 'ref' });
  const schemas: Record<string, object> = { ...settingsJsonSchemas(), 'check-result.schema.json': result };
  return Object.fromEntries(Object.entries(schemas).map(([name, schema]) => [name, `${JSON.stringify(schema, null, 2)}\n`]));
}
