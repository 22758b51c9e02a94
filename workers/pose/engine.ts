import './no-telemetry.ts';
import { type InferenceSession, Tensor } from 'onnxruntime-node';
import { cropRegion, cropSide } from './crop.ts';
import { decodeDetections, detectorSide, regionAround, toPicture, wholePicture } from './detector.ts';
import { openModel } from './models.ts';
import { type Detection, type Pose, type PoseModel, pointWidth, type Region, type RgbImage, worldWidth } from './types.ts';

/** Finds people and their poses. Calls may overlap; each runs on one thread. */
export type PoseEngine = {
  /**
   * Finds all people scoring at least `threshold` (0..1), best first, in the whole picture, or in a region of it: a smaller region is
   * enlarged and shows smaller people, a turned one those who lie.
   */
  detect(image: RgbImage, options: { threshold: number; region?: Region }): Promise<Detection[]>;
  /** The pose of the person in a region. Throws when `model` was not loaded. */
  landmarks(image: RgbImage, region: Region, model: PoseModel): Promise<Pose>;
  /** The same from a crop kept earlier: `cropRegion(image, region)`, `[256][256][3]` bytes. */
  landmarksFromCrop(crop: Uint8Array, region: Region, model: PoseModel): Promise<Pose>;
  /** Frees the models. */
  close(): Promise<void>;
};

/** Loads the detector and the landmark models asked for, from the installed packages; nothing is downloaded. */
export async function loadPose(options: { models: PoseModel[] }): Promise<PoseEngine> {
  const detector = await openModel('detector');
  const models = new Map<PoseModel, InferenceSession>();
  for (const name of options.models) models.set(name, await openModel(name));
  const detectorCrops: Uint8Array[] = [];
  const crops: Uint8Array[] = [];

  const landmarksFromCrop = async (crop: Uint8Array, region: Region, model: PoseModel) => {
    const session = models.get(model);
    if (!session) throw new Error(`the pose model ${model} was not loaded`);
    const out = await session.run({ image: new Tensor('uint8', crop, [1, cropSide, cropSide, 3]) });
    return readPose(numbers(out.landmarks), numbers(out.presence)[0]!, numbers(out.world), region);
  };

  return {
    detect: async (image, { threshold, region = wholePicture(image) }) => {
      const crop = cropRegion(image, region, detectorCrops.pop(), detectorSide);
      const out = await detector.run({ image: new Tensor('uint8', crop, [1, detectorSide, detectorSide, 3]) });
      detectorCrops.push(crop);
      return decodeDetections(numbers(out.boxes), numbers(out.scores), threshold, region);
    },
    landmarks: async (image, region, model) => {
      const crop = cropRegion(image, region, crops.pop());
      const pose = await landmarksFromCrop(crop, region, model);
      crops.push(crop);
      return pose;
    },
    landmarksFromCrop,
    close: async () => {
      for (const session of [detector, ...models.values()]) await session.release();
    },
  };
}

const numbers = (tensor: Tensor | undefined) => tensor!.data as Float32Array;

/** Landmarks of a body, the model's own. */
const bodyRows = 33;
const sigmoid = (logit: number) => 1 / (1 + Math.exp(-logit));

/** Maps the landmark model's rows (crop pixels, logits, metres along the crop's axes) to the picture. */
function readPose(rows: Float32Array, presence: number, worldRows: Float32Array, region: Region): Pose {
  const scale = region.sidePx / cropSide;
  const place = (row: number) =>
    toPicture({ x: rows[row * pointWidth]! / cropSide, y: rows[row * pointWidth + 1]! / cropSide }, region);
  const points = new Float32Array(bodyRows * pointWidth);
  const world = new Float32Array(bodyRows * worldWidth);
  const cos = Math.cos(region.angleRad);
  const sin = Math.sin(region.angleRad);
  for (let row = 0; row < bodyRows; row++) {
    const at = row * pointWidth;
    const { x, y } = place(row);
    points.set([x, y, rows[at + 2]! * scale, sigmoid(rows[at + 3]!), sigmoid(rows[at + 4]!)], at);
    const from = row * worldWidth;
    const wx = worldRows[from]!;
    const wy = worldRows[from + 1]!;
    world.set([wx * cos - wy * sin, wx * sin + wy * cos, worldRows[from + 2]!], from);
  }
  return { presence, points, world, next: regionAround(place(33), place(34)) };
}
