import { textWidthPx } from '../../src/pictures/svg.ts';

/** A box in px. */
export interface Box {
  text: string;
  left: number;
  right: number;
  top: number;
  bottom: number;
}

const attribute = (tag: string, name: string) => new RegExp(` ${name}="([^"]*)"`).exec(tag)?.[1];

/** Boxes of all texts of an SVG, by the pictures' own width estimate (never too narrow; see svg.test.ts). */
export function textBoxes(svg: string): Box[] {
  return [...svg.matchAll(/<text [^>]*>([^<]*)<\/text>/g)].map(([tag, text]) => {
    const sizePx = Number(attribute(tag, 'font-size'));
    const width = textWidthPx(text!.replace(/&\w+;/g, '&'), sizePx, attribute(tag, 'font-weight') === '700');
    const x = Number(attribute(tag, 'x'));
    const y = Number(attribute(tag, 'y'));
    const anchor = attribute(tag, 'text-anchor');
    const left = anchor === 'middle' ? x - width / 2 : anchor === 'end' ? x - width : x;
    return { text: text!, left, right: left + width, top: y - sizePx * 0.74, bottom: y + sizePx * 0.2 };
  });
}

/** Smallest font size of an SVG in px. */
export function smallestTextPx(svg: string): number {
  return Math.min(...[...svg.matchAll(/font-size="([\d.]+)"/g)].map(([, size]) => Number(size)));
}

/** Pairs of texts that lie over one another. */
export function overlaps(boxes: readonly Box[]): [string, string][] {
  return boxes.flatMap((a, i) =>
    boxes
      .slice(i + 1)
      .filter((b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom)
      .map((b): [string, string] => [a.text, b.text]),
  );
}

/** Centre of a marked phone, px. */
export function markAt(svg: string, mark: string): { x: number; y: number } | null {
  const tag = new RegExp(`<g id="${mark}"[^>]*>`).exec(svg)?.[0];
  return tag ? { x: Number(attribute(tag, 'data-x')), y: Number(attribute(tag, 'data-y')) } : null;
}

/** Width and height in px from a PNG's header (PNG specification, IHDR: bytes 16 to 23). */
export function pngSize(png: Buffer): { widthPx: number; heightPx: number } {
  if (png.subarray(0, 8).toString('hex') !== '89504e470d0a1a0a') throw new Error('not a PNG');
  return { widthPx: png.readUInt32BE(16), heightPx: png.readUInt32BE(20) };
}
