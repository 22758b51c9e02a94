import './no-telemetry.ts';
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { InferenceSession } from 'onnxruntime-node';
import { type ConvertOptions, convertToOnnx } from './convert.ts';
import { readTflite } from './tflite.ts';
import type { PoseModel } from './types.ts';

/** The models this project runs. */
export type ModelName = 'detector' | PoseModel;

/** Files inside the npm package `@mediapipe/pose` (Apache-2.0); the packed assets are the detector's .tflite as it is. */
const files: Record<ModelName, string> = {
  detector: 'pose_solution_packed_assets.data',
  lite: 'pose_landmark_lite.tflite',
  heavy: 'pose_landmark_heavy.tflite',
};

const landmarkOutputs = [
  { name: 'landmarks', shape: [1, 195] },
  { name: 'presence', shape: [1, 1] },
  { name: 'world', shape: [1, 117] },
];

/** Which outputs are read, and the range that each model's input was trained on. */
const conversions: Record<ModelName, ConvertOptions> = {
  detector: {
    outputs: [
      { name: 'boxes', shape: [1, 2254, 12] },
      { name: 'scores', shape: [1, 2254, 1] },
    ],
    byteInput: { scale: 2 / 255, offset: -1 },
  },
  lite: { outputs: landmarkOutputs, byteInput: { scale: 1 / 255, offset: 0 } },
  heavy: { outputs: landmarkOutputs, byteInput: { scale: 1 / 255, offset: 0 } },
};

/** Reads a model's .tflite bytes from the installed package. */
export async function readModel(name: ModelName): Promise<Uint8Array> {
  const folder = dirname(createRequire(import.meta.url).resolve('@mediapipe/pose'));
  return readFile(join(folder, files[name]));
}

/** Converts a model in memory and opens it on one thread that sleeps when idle. */
export async function openModel(name: ModelName): Promise<InferenceSession> {
  const bytes = convertToOnnx(readTflite(await readModel(name)), conversions[name]);
  return InferenceSession.create(bytes, {
    intraOpNumThreads: 1,
    interOpNumThreads: 1,
    executionMode: 'sequential',
    graphOptimizationLevel: 'all',
    extra: { session: { intra_op: { allow_spinning: '0' }, inter_op: { allow_spinning: '0' } } },
  });
}
