/** A decoded picture: rgb24, rows from the top. What the decoder gives will do. */
type Picture = { data: Uint8Array; widthPx: number; heightPx: number; timeS: number };

/** Rec. 709 luma 0..255 of the pixel at an offset of rgb24 data (Rec. ITU-R BT.709-6, table 3, item 3.2). */
export const lumaAt = (data: Uint8Array, at: number): number =>
  0.2126 * data[at]! + 0.7152 * data[at + 1]! + 0.0722 * data[at + 2]!;

/** A rectangle in picture pixels, x to the right, y down; may reach over the picture's edge. */
export type Box = { x: number; y: number; widthPx: number; heightPx: number };

/**
 * A frame as luma alone, its long side 256 px or a little more, which is what light, steadiness and cuts are measured on.
 * `data`: rows from the top, Rec. 709 luma 0..255. `shrink`: picture pixels to one pixel here, a whole number.
 */
export type SmallGray = { data: Uint8Array; widthPx: number; heightPx: number; shrink: number; timeS: number };

const longSidePx = 256;
// Rec. ITU-R BT.709-6, table 3, item 3.2, in 1/65536
const red = 13933;
const green = 46871;
const blue = 4732;

/**
 * Makes small gray pictures of the frames of one clip by averaging whole blocks of pixels. The picture that it gives is overwritten by
 * the next call: a stage copies what it keeps. Make one per frame and hand it to each stage.
 */
export function createSmallGray(): (picture: Picture) => SmallGray {
  const out: SmallGray = { data: new Uint8Array(0), widthPx: 0, heightPx: 0, shrink: 1, timeS: 0 };
  let [fullWidthPx, fullHeightPx] = [0, 0];
  return ({ data, widthPx, heightPx, timeS }) => {
    if (widthPx !== fullWidthPx || heightPx !== fullHeightPx) {
      [fullWidthPx, fullHeightPx] = [widthPx, heightPx];
      out.shrink = Math.max(1, Math.floor(Math.max(widthPx, heightPx) / longSidePx));
      out.widthPx = Math.floor(widthPx / out.shrink);
      out.heightPx = Math.floor(heightPx / out.shrink);
      out.data = new Uint8Array(out.widthPx * out.heightPx);
    }
    const { shrink, widthPx: w, heightPx: h } = out;
    const gray = out.data;
    const scale = 1 / (65536 * shrink * shrink);
    const stride = 3 * widthPx;
    for (let y = 0, to = 0; y < h; y++) {
      let corner = y * shrink * stride;
      for (let x = 0; x < w; x++, to++, corner += 3 * shrink) {
        let r = 0;
        let g = 0;
        let b = 0;
        for (let row = 0, at = corner; row < shrink; row++, at += stride) {
          for (let i = at, end = at + 3 * shrink; i < end; i += 3) {
            r += data[i]!;
            g += data[i + 1]!;
            b += data[i + 2]!;
          }
        }
        gray[to] = (red * r + green * g + blue * b) * scale + 0.5;
      }
    }
    out.timeS = timeS;
    return out;
  };
}
