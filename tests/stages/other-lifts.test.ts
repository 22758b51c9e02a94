import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterAll, expect, it } from 'vitest';
import { readLabels } from '../../src/cli/labels.ts';
import { measuringPool } from '../../src/cli/measured-clips.ts';

// rendered clips with exact truth, their movements invented as these lifts are commonly done
const folder = fileURLToPath(new URL('../fixtures/other-lifts/', import.meta.url));
const labels = readdirSync(folder)
  .filter((name) => name.endsWith('.json'))
  .flatMap((name) => readLabels(`${folder}${name}`));

const measuring = measuringPool(2);
afterAll(() => measuring.pool.close());

it('takes a clean, a snatch, a row, a lunge and a curl for none of the known lifts, and finds the lift in each that it is sure of', async () => {
  expect(labels).toHaveLength(5);
  const told = await Promise.all(
    labels.map(async ({ file, startS, endS }) => {
      const answer = await measuring.measure(file);
      if (answer.kind !== 'facts') throw new Error(`${file}: ${answer.kind}`);
      const { lift, liftWindow } = answer.facts;
      // a bar that comes up from the floor is sure; the lift lies within what is called so, the times before and after it are chosen
      if (lift.known && (lift.confidence ?? 1) > 0.8 && liftWindow.known) {
        expect(liftWindow.value.startS, file).toBeLessThan(startS! + 0.4);
        expect(liftWindow.value.endS, file).toBeGreaterThan(endS! - 1.5);
      }
      return lift.known ? lift.value : lift.reason;
    }),
  );
  expect(told).toEqual(labels.map(() => 'other'));
}, 180_000);
