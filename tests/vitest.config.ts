import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

const LONGEST = ['/browser/every-page', '/browser/', '/faults/', '/feature/', ''];

/** What takes minutes is not left for the end, where one worker would wait for the other. */
class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = ({ moduleId }: TestSpecification) => LONGEST.findIndex((part) => moduleId.includes(part));
    return [...(await super.sort(files))].sort((a, b) => place(a) - place(b));
  }
}

export default defineConfig({
  test: {
    globalSetup: ['tests/helpers/server.ts'],
    setupFiles: ['tests/helpers/each-file.ts'],
    include: ['tests/{reference,unit,feature,browser,faults}/**/*.test.{ts,tsx}'],
    testTimeout: 30_000,
    hookTimeout: 60_000,
    maxWorkers: 2,
    // Loading the product takes longer than most files: a worker does it once. Nothing here keeps state in a module.
    isolate: false,
    sequence: { sequencer: LongestFirst },
  },
});
