/** Says on standard output, as JSON, whether this host can measure: the ffmpeg that was found, and each model, loaded for real. */
import { findFfmpeg } from './media/find-ffmpeg.ts';
import { type ModelName, openModel } from './pose/models.ts';

const names: ModelName[] = ['detector', 'lite', 'heavy'];
const told = (work: Promise<string>) =>
  work.then(
    (found) => ({ ok: true, found }),
    (error: unknown) => ({ ok: false, found: error instanceof Error ? error.message : String(error) }),
  );

const ffmpeg = await told(findFfmpeg(process.env).then(({ version, path, from }) => `${version} at ${path} (${from})`));
const models = await told(Promise.all(names.map(openModel)).then(() => names.join(', ')));
process.stdout.write(JSON.stringify({ ffmpeg, models }));
