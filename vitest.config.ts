import { defineConfig } from 'vitest/config';

// biome-ignore lint/style/noDefaultExport: vitest reads the default export
export default defineConfig({
  test: { include: ['tests/**/*.test.ts'], testTimeout: 60_000, hookTimeout: 120_000, pool: 'forks', maxWorkers: 2 },
});
