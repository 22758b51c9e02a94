/** A decoded picture: rgb24, rows from the top. What the decoder gives will do. */
type Picture = { data: Uint8Array; widthPx: number; heightPx: number; timeS: number };

/** A rectangle in picture pixels, x to the right, y down; may reach over the picture's edge. */
export type Box = { x: number; y: number; widthPx: number; heightPx: number };

/**
 * A frame as luma alone, its long side 256 px or a little more, which is what light, steadiness and cuts are measured on.
 * `data`: rows from the top, Rec. 709 luma 0..255. `shrink`: picture pixels to one pixel here, a whole number.
 */
export type SmallGray = { data: Uint8Array; widthPx: number; heightPx: number; shrink: number; timeS: number };

const longSidePx = 256;
// Rec. ITU-R BT.709-6, table 3, item 3.2, in 1/65536
const [red, green, blue] = [13933, 46871, 4732];

/**
 * Makes small gray pictures of the frames of one clip by averaging whole blocks of pixels. The picture that it gives is overwritten by
 * the next call: a stage copies what it keeps. Make one per frame and hand it to each stage.
 */
export function createSmallGray(): (picture: Picture) => SmallGray {
  const out: SmallGray = { data: new Uint8Array(0), widthPx: 0, heightPx: 0, shrink: 1, timeS: 0 };
  let [sums, fullWidthPx, fullHeightPx] = [new Float64Array(0), 0, 0];
  return ({ data, widthPx, heightPx, timeS }) => {
    if (widthPx !== fullWidthPx || heightPx !== fullHeightPx) {
      [fullWidthPx, fullHeightPx] = [widthPx, heightPx];
      out.shrink = Math.max(1, Math.floor(Math.max(widthPx, heightPx) / longSidePx));
      out.widthPx = Math.floor(widthPx / out.shrink);
      out.heightPx = Math.floor(heightPx / out.shrink);
      out.data = new Uint8Array(out.widthPx * out.heightPx);
      sums = new Float64Array(out.widthPx);
    }
    const { shrink, widthPx: w, heightPx: h } = out;
    const scale = 1 / (65536 * shrink * shrink);
    for (let y = 0; y < h; y++) {
      sums.fill(0);
      for (let row = 0; row < shrink; row++) {
        let at = (y * shrink + row) * widthPx * 3;
        for (let x = 0; x < w; x++) {
          let sum = 0;
          for (let i = 0; i < shrink; i++, at += 3) sum += red * data[at]! + green * data[at + 1]! + blue * data[at + 2]!;
          sums[x] = sums[x]! + sum;
        }
      }
      const to = y * w;
      for (let x = 0; x < w; x++) out.data[to + x] = sums[x]! * scale + 0.5;
    }
    out.timeS = timeS;
    return out;
  };
}
