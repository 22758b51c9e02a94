import { describe, expect, it } from 'vitest';
import { samePose, sameRegion } from '../../workers/pose/regions.ts';
import {
  chooseMain,
  defaultTrackOptions,
  followed,
  mergeDoubles,
  noTracks,
  takeDetections,
  takePose,
  turnedBack,
} from '../../workers/pose/tracks.ts';
import { region, seen, standing } from './standing.ts';

const options = defaultTrackOptions;

/** Tracks after the detector saw people at these places and their poses were taken in. */
function following(places: [number, number][], timeS = 0) {
  const tracks = noTracks();
  const detections = places.map(([x, y]) => seen(x, y));
  for (const { track } of takeDetections(tracks, detections, timeS, 4))
    takePose(tracks, track, standing(track.region.cx, track.region.cy), timeS, options);
  return tracks;
}

describe('same person', () => {
  it.each([
    ['the same place', region(0, 0), true],
    ['a seventh of the side away, just inside', region(21.3, 0), true],
    ['a seventh of the side away, just outside', region(21.5, 0), false],
    ['1.6 times as large, just below', region(0, 0, 239), true],
    ['1.6 times as large', region(0, 0, 240.1), false],
    ['lying at the same place', region(0, 0, 150, Math.PI / 2), false],
    ['turned past the half turn', region(0, 0, 150, 2 * Math.PI), true],
  ])('region: %s', (_, other, same) => {
    expect(sameRegion(region(0, 0), other)).toBe(same);
  });

  it.each([
    [11.9, true],
    [12.1, false],
  ])('pose: %d px apart in a region of 150 px', (apart, same) => {
    expect(samePose(standing(0, 0), standing(apart, 0), 150)).toBe(same);
  });
});

describe('taking in detections', () => {
  it('gives new people new ids and keeps known ones', () => {
    const tracks = following([[100, 100]]);
    takeDetections(tracks, [seen(104, 101), seen(300, 100)], 1, 4);
    expect(followed(tracks).map(({ id, region: { cx } }) => [id, cx])).toEqual([
      [1, 100],
      [2, 300],
    ]);
  });

  it('knows a bent person by the head when the detector guesses the hips elsewhere', () => {
    const tracks = following([[100, 100]]);
    const bent = { ...seen(100, 100), hip: { x: 130, y: 100 }, region: region(130, 100) };
    takeDetections(tracks, [bent], 1, 4);
    expect(tracks.all).toHaveLength(1);
  });

  it.each([
    ['twice as large: the track had shrunk', 300, [1]],
    ['0.59 of the size: somebody behind', 88, [1, 2]],
  ])('a person at the same head, %s', (_, sidePx, ids) => {
    const tracks = following([[100, 100]]);
    takeDetections(tracks, [{ ...seen(100, 100), region: region(100, 100, sidePx) }], 1, 4);
    expect(tracks.all.map((track) => track.id)).toEqual(ids);
  });

  it('follows no more than asked for', () => {
    const tracks = noTracks();
    takeDetections(tracks, [seen(100, 100), seen(300, 100), seen(500, 100)], 0, 2);
    expect(followed(tracks).map((track) => track.region.cx)).toEqual([100, 300]);
  });

  it('finds a lost person again in the same place under the same id, and a stranger elsewhere under a new one', () => {
    const tracks = following([[100, 100]]);
    takePose(tracks, tracks.all[0]!, standing(100, 100, 0.1), 0.71, options);
    expect(followed(tracks)).toEqual([]);
    const looks = takeDetections(tracks, [seen(130, 100), seen(400, 100)], 2, 4);
    expect(looks.map(({ track }) => track.id)).toEqual([1, 2]);
  });
});

describe('taking in poses', () => {
  it.each([
    [0.7, 'followed'],
    [0.71, 'lost'],
  ])('a person missed for %d s is %s', (passedS, state) => {
    const tracks = following([[100, 100]]);
    expect(takePose(tracks, tracks.all[0]!, standing(100, 100, 0.29), passedS, options)).toBe(false);
    expect(tracks.all[0]!.state).toBe(state);
  });

  it('forgets a detection that the landmark model does not confirm', () => {
    const tracks = noTracks();
    const [look] = takeDetections(tracks, [seen(100, 100)], 0, 4);
    takePose(tracks, look!.track, standing(100, 100, 0.29), 0, options);
    expect(tracks.all).toEqual([]);
  });

  it('goes after a person who moves far and halves small shifts', () => {
    const tracks = following([[100, 100]]);
    const track = tracks.all[0]!;
    takePose(tracks, track, standing(102, 100), 0.1, options);
    expect(track.region.cx).toBeCloseTo(101);
    takePose(tracks, track, standing(130, 100), 0.2, options);
    expect(track.region.cx).toBeCloseTo(130);
  });
});

describe('doubles and the main person', () => {
  it('merges two tracks that settled on one person and keeps the older id', () => {
    const tracks = following([[100, 100]]);
    const [found] = takeDetections(tracks, [seen(200, 100)], 1, 4);
    takePose(tracks, found!.track, standing(200, 100), 1, options);
    takePose(tracks, tracks.all[1]!, standing(103, 100), 1.1, options);
    mergeDoubles(tracks);
    expect(tracks.all.map((track) => track.id)).toEqual([1]);
  });

  it.each([
    ['the older', 0, 1, 2],
    ['the newer', 1, 2, 1],
  ])(
    'of two people who were seen at once loses %s, who leapt to the other, and finds it again in its place',
    (_, at, id, other) => {
      const tracks = following([
        [100, 100],
        [200, 100],
      ]);
      const [leapt, stays] = [tracks.all[at]!, tracks.all[1 - at]!];
      const place = leapt.region.cx;
      takePose(tracks, leapt, standing(stays.region.cx + 3, 100), 0.1, options);
      mergeDoubles(tracks);
      expect(followed(tracks).map((track) => track.id)).toEqual([other]);
      takeDetections(tracks, [seen(place + 5, 100)], 1, 4);
      expect(followed(tracks).map((track) => track.id)).toEqual([1, 2]);
      expect(leapt.id).toBe(id);
      expect(leapt.region.cx).toBe(place + 5);
    },
  );

  it('looks no more at somebody tilted who was found upside down and is upright', () => {
    const tracks = noTracks();
    const [found] = takeDetections(tracks, [{ ...seen(100, 100), region: region(100, 100, 150, Math.PI) }], 0, 4);
    const { track } = found!;
    takePose(tracks, track, { ...standing(100, 100), next: region(100, 100, 150, Math.PI) }, 0, options);
    expect(turnedBack(track)).toMatchObject({ angleRad: 0 });
    track.region = region(100, 100);
    for (let frame = 1; frame < 60; frame++) {
      takePose(tracks, track, standing(100, 100), frame / 15, options);
      expect(turnedBack(track)).toBeNull();
    }
  });

  it('keeps two people who stand side by side', () => {
    const tracks = following([
      [100, 100],
      [130, 100],
    ]);
    mergeDoubles(tracks);
    expect(tracks.all).toHaveLength(2);
  });

  it('takes the one whose hands go up and down for the main person', () => {
    const tracks = following([
      [100, 100],
      [300, 100],
    ]);
    chooseMain(tracks);
    expect(tracks.mainId).toBe(1);
    for (let frame = 1; frame <= 30; frame++) {
      takePose(tracks, tracks.all[0]!, standing(100, 100), frame / 15, options);
      takePose(tracks, tracks.all[1]!, standing(300, 100, 1, 40 * Math.sin(frame / 5)), frame / 15, options);
      chooseMain(tracks);
    }
    expect(tracks.mainId).toBe(2);
  });
});
