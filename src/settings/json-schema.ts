import { z } from 'zod';
import { RulesFile, SettingsFile } from './schema.ts';

/** JSON Schemas (draft 7, which editors' YAML support reads) by file name in config/, for completion and checks while typing. */
export function settingsJsonSchemas(): Record<'rules.schema.json' | 'settings.schema.json', object> {
  const options = { target: 'draft-7', io: 'input', reused: 'ref' } as const;
  return {
    'rules.schema.json': z.toJSONSchema(RulesFile, options),
    'settings.schema.json': z.toJSONSchema(SettingsFile, options),
  };
}
