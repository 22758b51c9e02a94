/** `npm run -s picture`: draws the picture of the folders in DEVELOPERS.md anew. */
import { readFileSync, writeFileSync } from 'node:fs';
import { withPicture } from './architecture.ts';

const file = new URL('../../DEVELOPERS.md', import.meta.url);
writeFileSync(file, withPicture(readFileSync(file, 'utf8')));
