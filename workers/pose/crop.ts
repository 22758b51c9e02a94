import type { Region, RgbImage } from './types.ts';

/** Side of the landmark model's input, pixels (the model's own shape). */
export const cropSide = 256;

/**
 * Cuts a turned square out of a picture: `[sidePx][sidePx][3]` bytes, bilinear, black outside the picture. Pass `into` to use a buffer
 * again.
 */
export function cropRegion(image: RgbImage, region: Region, into?: Uint8Array, sidePx = cropSide): Uint8Array {
  const out = into ?? new Uint8Array(sidePx * sidePx * 3);
  const { data, widthPx, heightPx } = image;
  const scale = region.sidePx / sidePx;
  // Fixed point, 16 bits behind the point; pixel centres are at one half.
  const cos = Math.cos(region.angleRad) * scale;
  const sin = Math.sin(region.angleRad) * scale;
  const stepX = Math.round(cos * 65536);
  const stepY = Math.round(sin * 65536);
  const half = (sidePx - 1) / 2;
  const row = widthPx * 3;
  const lastX = widthPx - 1;
  const lastY = heightPx - 1;
  let o = 0;
  for (let v = 0; v < sidePx; v++) {
    let fx = Math.round((region.cx - 0.5 - half * cos - (v - half) * sin) * 65536);
    let fy = Math.round((region.cy - 0.5 - half * sin + (v - half) * cos) * 65536);
    for (let u = 0; u < sidePx; u++, o += 3, fx += stepX, fy += stepY) {
      const x = fx >> 16;
      const y = fy >> 16;
      if (x < -1 || y < -1 || x > lastX || y > lastY) {
        out[o] = 0;
        out[o + 1] = 0;
        out[o + 2] = 0;
        continue;
      }
      const wx = (fx >> 8) & 255;
      const wy = (fy >> 8) & 255;
      let w00 = (256 - wx) * (256 - wy);
      let w10 = wx * (256 - wy);
      let w01 = (256 - wx) * wy;
      let w11 = wx * wy;
      let i = y * row + x * 3;
      let right = 3;
      let below = row;
      if (x < 0 || y < 0 || x >= lastX || y >= lastY) {
        if (x < 0) w00 = w01 = 0;
        if (y < 0) w00 = w10 = 0;
        if (x === lastX) w10 = w11 = 0;
        if (y === lastY) w01 = w11 = 0;
        if (x < 0 || x === lastX) right = 0;
        if (y < 0 || y === lastY) below = 0;
        if (x < 0) i += 3;
        if (y < 0) i += row;
      }
      const j = i + below;
      out[o] = (data[i]! * w00 + data[i + right]! * w10 + data[j]! * w01 + data[j + right]! * w11 + 32768) >> 16;
      out[o + 1] =
        (data[i + 1]! * w00 + data[i + right + 1]! * w10 + data[j + 1]! * w01 + data[j + right + 1]! * w11 + 32768) >> 16;
      out[o + 2] =
        (data[i + 2]! * w00 + data[i + right + 2]! * w10 + data[j + 2]! * w01 + data[j + right + 2]! * w11 + 32768) >> 16;
    }
  }
  return out;
}
