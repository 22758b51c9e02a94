import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { Resvg } from '@resvg/resvg-js';

const fontDir = join(dirname(createRequire(import.meta.url).resolve('dejavu-fonts-ttf/package.json')), 'ttf');
const fontFiles = ['DejaVuSansCondensed.ttf', 'DejaVuSansCondensed-Bold.ttf'].map((name) => join(fontDir, name));

/** A finished picture. `alt` says in words what it shows. */
export interface Picture {
  png: Buffer;
  svg: string;
  alt: string;
}

/** PNG of an SVG at its own size; only the project's fonts are used, so it looks the same on every machine. */
export function renderPicture(svg: string, alt: string): Picture {
  const image = new Resvg(svg, { font: { loadSystemFonts: false, fontFiles, defaultFontFamily: 'DejaVu Sans' } });
  return { png: image.render().asPng(), svg, alt };
}
