import { z } from 'zod';
import { rules } from '../rules/index.ts';
import { rulesSchemaOf } from '../rules/settings.ts';

/** config/rules.yaml: one entry a rule, each part optional; see src/rules/settings.ts. */
export const RulesFile = rulesSchemaOf(rules);

const Limits = z.strictObject({
  maxBytes: z
    .int()
    .positive()
    .default(250 * 1024 * 1024)
    .meta({ description: 'Largest clip, bytes.' }),
  maxDurationS: z.number().positive().default(600).meta({ description: 'Longest clip, seconds.' }),
  maxPixels: z.int().positive().default(36_000_000).meta({ description: 'Largest picture, width times height in pixels.' }),
  timeoutS: z.number().positive().default(120).meta({ description: 'Longest time that measuring one clip may take, seconds.' }),
  maxMemoryMb: z.int().positive().default(1500).meta({ description: 'Most memory that measuring one clip may take, MB.' }),
});

const Captions = z.strictObject({
  unitWhenSilent: z
    .enum(['kg', 'lb'])
    .nullable()
    .default(null)
    .meta({ description: 'Unit of a load typed without one, or null when such a load does not count.' }),
});

/** config/settings.yaml: one section a concern, each with defaults for all it holds. */
export const SettingsFile = z.strictObject({
  limits: Limits.prefault({}).meta({ description: 'What a clip may be and cost.' }),
  captions: Captions.prefault({}).meta({ description: 'How captions are read.' }),
});
export type SettingsFile = z.infer<typeof SettingsFile>;
