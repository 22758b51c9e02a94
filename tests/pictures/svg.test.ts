import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { Resvg } from '@resvg/resvg-js';
import { describe, expect, it } from 'vitest';
import { card, escapeXml, label, px, textWidthPx, wrapText } from '../../src/pictures/svg.ts';
import { en } from '../../src/wording/en.ts';

const fonts = join(dirname(createRequire(import.meta.url).resolve('dejavu-fonts-ttf/package.json')), 'ttf');
const font = {
  loadSystemFonts: false,
  fontFiles: ['DejaVuSansCondensed.ttf', 'DejaVuSansCondensed-Bold.ttf'].map((name) => join(fonts, name)),
};

/** Width of the drawn letters as the renderer measures them, px. */
function drawnWidthPx(text: string, sizePx: number, bold: boolean): number {
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="4000" height="100">${label([20, 60], text, { sizePx, bold })}</svg>`;
  return new Resvg(svg, { font }).getBBox()!.width;
}

describe('textWidthPx', () => {
  const words = en.pictures;
  const lines = [
    ...Object.values(words).filter((word) => typeof word === 'string'),
    ...words.guideTips,
    'Behind your left shoulder, 1.5–1.8 m (5–6 ft) high, 2.5–4 m away',
    '3:00 long · 10 reps · kept 1:39–1:49',
    'WWWWMMMM@@@@mmmmwwww',
    'illjfrt.,;:|!()',
  ];
  it.each(lines.flatMap((line) => [false, true].map((bold) => ({ line, bold }))))(
    'is never too narrow: $line (bold $bold)',
    ({ line, bold }) => {
      const drawn = drawnWidthPx(line, 26, bold);
      expect(textWidthPx(line, 26, bold)).toBeGreaterThanOrEqual(drawn);
      // The renderer measures ink without the letters' own margins, which weigh more in short words.
      expect(textWidthPx(line, 26, bold)).toBeLessThan(drawn * 1.35 + 12);
    },
  );
});

describe('wrapText', () => {
  it('keeps all words, in order, in lines that fit', () => {
    const text = en.pictures.guideSee(['head', 'shoulders', 'elbows', 'hands', 'hips', 'knees', 'feet', 'bar']);
    const lines = wrapText(text, 300, 26);
    expect(lines.join(' ')).toBe(text);
    expect(lines.length).toBeGreaterThan(2);
    for (const line of lines) expect(textWidthPx(line, 26)).toBeLessThanOrEqual(300);
  });
  it('lets a word that is too long stand alone', () => {
    expect(wrapText('a incomprehensibilities b', 60, 26)).toEqual(['a', 'incomprehensibilities', 'b']);
  });
});

describe('numbers and letters', () => {
  it.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])('refuses %d', (value) => {
    expect(() => px(value)).toThrow(RangeError);
  });
  it('keeps foreign text from breaking the picture', () => {
    expect(escapeXml('<b> & "x"\u0000\u0007')).toBe('&lt;b&gt; &amp; &quot;x&quot;');
    expect(() => new Resvg(card(40, 40, '</title><script>', label([1, 9], '<&>', { sizePx: 9 })), { font })).not.toThrow();
  });
});
