import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { schemaFiles } from '../../src/cli/schema-files.ts';

test.each(Object.entries(schemaFiles()))('%s is as generated', (name, text) => {
  const written = readFileSync(new URL(`../../${name}`, import.meta.url), 'utf8');
  expect(written === text, 'write it anew with npm run -s schemas').toBe(true);
});
