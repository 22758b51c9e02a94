import { writeFileSync } from 'node:fs';
import { projectPath } from './measured-clips.ts';
import { schemaFiles } from './schema-files.ts';

/** Writes the JSON Schemas and the page about the settings anew, and names them. */
for (const [name, text] of Object.entries(schemaFiles())) {
  writeFileSync(projectPath(name), text);
  console.log(name);
}
