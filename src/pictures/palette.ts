/** Colours of the pictures: one card background for light and dark chats; blue and orange stay apart for colour-blind eyes, and never speak alone. */
export const palette = {
  card: '#FAF8F2',
  cardEdge: '#C9C3B4',
  ink: '#1D232E',
  soft: '#5A6270',
  line: '#B9B4A6',
  body: '#8A93A3',
  bodyDark: '#4C5566',
  now: '#B8480A',
  nowSoft: '#F3C9A8',
  want: '#14579E',
  wantSoft: '#BBD5F0',
  dead: '#D8D4C9',
  deadLine: '#8D8878',
  white: '#FFFFFF',
} as const;

/** Text sizes in px at a width of 720 px; a phone shows the picture at half of that. */
export const textPx = { small: 26, body: 28, title: 32 } as const;
