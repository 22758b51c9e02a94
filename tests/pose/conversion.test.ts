import { Tensor } from 'onnxruntime-node';
import { beforeAll, describe, expect, it } from 'vitest';
import { cropRegion } from '../../workers/pose/crop.ts';
import { wholePicture } from '../../workers/pose/detector.ts';
import { type ModelName, openModel, readModel } from '../../workers/pose/models.ts';
import { runLiteRt, startLiteRt } from './litert.ts';
import { renderedPerson } from './picture.ts';

// Reference: LiteRT (`@litertjs/core`), the models' own runtime, on the same pixels.
describe('converted models agree with LiteRT', () => {
  let litert: Awaited<ReturnType<typeof startLiteRt>>;
  beforeAll(async () => {
    litert = await startLiteRt();
  });

  const { image } = renderedPerson();
  const cases: { model: ModelName; sidePx: number; outputs: { name: string; length: number; within: number }[] }[] = [
    {
      model: 'detector',
      sidePx: 224,
      outputs: [
        { name: 'boxes', length: 2254 * 12, within: 0.01 },
        { name: 'scores', length: 2254, within: 0.002 },
      ],
    },
    ...(['lite', 'heavy'] as const).map((model) => ({
      model,
      sidePx: 256,
      outputs: [
        { name: 'landmarks', length: 195, within: 0.02 },
        { name: 'presence', length: 1, within: 1e-4 },
        { name: 'world', length: 117, within: 5e-5 },
      ],
    })),
  ];
  for (const { model, sidePx, outputs } of cases) {
    it(model, async () => {
      const crop = cropRegion(image, { ...wholePicture(image), angleRad: 0.2 }, undefined, sidePx);
      const session = await openModel(model);
      const ours = await session.run({ image: new Tensor('uint8', crop, [1, sidePx, sidePx, 3]) });
      const floats = Float32Array.from(crop, (byte) => (model === 'detector' ? byte / 127.5 - 1 : byte / 255));
      const theirs = await runLiteRt(litert, await readModel(model), floats, [1, sidePx, sidePx, 3]);
      for (const { name, length, within } of outputs) {
        const a = ours[name]!.data as Float32Array;
        const b = theirs.get(length)!;
        const worst = a.reduce((most, value, i) => Math.max(most, Math.abs(value - b[i]!)), 0);
        console.log(`${model} ${name}: largest difference ${worst.toExponential(1)}`);
        expect(a.length).toBe(length);
        expect(worst, `${model} ${name}`).toBeLessThan(within);
      }
      await session.release();
    });
  }
});
