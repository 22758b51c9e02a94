import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import type { Point, RgbImage } from '../../workers/pose/types.ts';

type Truth = { widthPx: number; heightPx: number; azimuthDeg: number; joints: Record<string, Point> };

const fixture = (name: string) => new URL(`../fixtures/pose/${name}`, import.meta.url);

/** A person with a bar at the shoulders, rendered by the project's own rig, and where the rig's camera projects the joints (pixels). */
export function renderedPerson(): { image: RgbImage; truth: Truth } {
  const truth = JSON.parse(readFileSync(fixture('press-front-quarter.json'), 'utf8')) as Truth;
  const data = new Uint8Array(gunzipSync(readFileSync(fixture('press-front-quarter.rgb.gz'))));
  return { image: { data, widthPx: truth.widthPx, heightPx: truth.heightPx }, truth };
}

/** Turns a picture clockwise by a quarter. */
export function quarterTurn(image: RgbImage): RgbImage {
  const { data, widthPx, heightPx } = image;
  const out = new Uint8Array(data.length);
  for (let y = 0; y < heightPx; y++)
    for (let x = 0; x < widthPx; x++) {
      const from = (y * widthPx + x) * 3;
      out.set(data.subarray(from, from + 3), (x * heightPx + (heightPx - 1 - y)) * 3);
    }
  return { data: out, widthPx: heightPx, heightPx: widthPx };
}
