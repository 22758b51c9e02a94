import { writeFileSync } from 'node:fs';
import { projectPath } from './measured-clips.ts';
import { schemaFiles } from './schema-files.ts';

/** Writes the JSON Schemas into config/ and names them. */
for (const [name, text] of Object.entries(schemaFiles())) {
  writeFileSync(projectPath(`config/${name}`), text);
  console.log(`config/${name}`);
}
