// Clips and pictures of a message.
import { el, megabytes } from './dom.js';

/** Players, pictures with their alt texts, and links for the rest. */
export function fileNodes(files) {
  if (files.length === 0) return null;
  return el(
    'div',
    { class: 'files' },
    files.map((file) => {
      if (file.kind === 'video')
        return el(
          'figure',
          {},
          el('video', {
            // The first picture, not a black one, stands there before it plays (phones show none otherwise).
            src: `${file.url}#t=0.01`,
            controls: true,
            preload: 'metadata',
            playsInline: true,
            'aria-label': `Clip ${file.name}`,
          }),
          el(
            'figcaption',
            { class: 'quiet' },
            el('a', { href: file.url, download: file.name }, file.name),
            ` · ${megabytes(file.bytes)}`,
          ),
        );
      if (file.kind === 'picture')
        return el(
          'a',
          { class: 'picture', href: file.url, target: '_blank', rel: 'noopener' },
          el('img', { src: file.url, alt: file.alt ?? file.name, loading: 'lazy' }),
        );
      return el('p', {}, el('a', { href: file.url, download: file.name }, file.name), ` · ${megabytes(file.bytes)}`);
    }),
  );
}
