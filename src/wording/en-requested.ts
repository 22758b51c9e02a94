/** What a coach may ask to see, to follow "asked for this lift", by id of the view. */
export const requested: Readonly<Record<string, string>> = {
  front: 'from straight in front',
  'front-quarter': 'from in front, at an angle',
  side: 'square from the side',
  'rear-quarter': 'from behind, at an angle',
  rear: 'from straight behind',
  'bar-close-up': 'close up on the bar',
  'setup-and-walk-out': 'with the setup and the walk-out',
};
