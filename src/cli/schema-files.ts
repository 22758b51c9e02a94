import { z } from 'zod';
import { settingsJsonSchemas } from '../settings/json-schema.ts';
import { settingsPage } from '../settings/settings-page.ts';
import { CheckResult } from './check-result.ts';

/** JSON Schemas (draft 7) and the page about the settings, as text, by their place in the project. */
export function schemaFiles(): Record<string, string> {
  const result = z.toJSONSchema(CheckResult, { target: 'draft-7', reused: 'ref' });
  const schemas: Record<string, object> = { ...settingsJsonSchemas(), 'check-result.schema.json': result };
  const files = Object.entries(schemas).map(([name, schema]) => [`config/${name}`, `${JSON.stringify(schema, null, 2)}\n`]);
  return { ...Object.fromEntries(files), 'deploy/settings.md': settingsPage() };
}
