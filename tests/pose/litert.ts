import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { pathToFileURL } from 'node:url';

type LiteRt = typeof import('@litertjs/core');

/**
 * Starts LiteRT, the runtime that the models were made for, in Node: it expects a browser's worker, so `importScripts` is provided, which
 * runs the package's loader as a CommonJS script beside its .wasm file.
 */
export async function startLiteRt(): Promise<LiteRt> {
  const folder = join(dirname(createRequire(import.meta.url).resolve('@litertjs/core/package.json')), 'wasm');
  const importScripts = (path: string) => {
    const run = new Function(
      'require',
      '__dirname',
      '__filename',
      'module',
      `${readFileSync(path, 'utf8')}\nreturn ModuleFactory;`,
    );
    const factory = run(createRequire(pathToFileURL(path)), folder, path, { exports: {} });
    Object.assign(globalThis, { ModuleFactory: factory });
  };
  Object.assign(globalThis, { self: globalThis, importScripts });
  const litert = await import('@litertjs/core');
  await litert.loadLiteRt(`${folder}/`);
  return litert;
}

/** Runs a .tflite model on one float input and gives its outputs by their length. */
export async function runLiteRt(
  litert: LiteRt,
  file: Uint8Array,
  input: Float32Array,
  shape: number[],
): Promise<Map<number, Float32Array>> {
  const model = await litert.loadAndCompile(file, { accelerator: 'wasm' });
  const tensor = new litert.Tensor(input, shape);
  const outputs = await model.run(tensor);
  const byLength = new Map<number, Float32Array>();
  for (const output of outputs) {
    const values = Float32Array.from(output.toTypedArray() as Float32Array);
    byLength.set(values.length, values);
    output.delete();
  }
  tensor.delete();
  model.delete();
  return byLength;
}
