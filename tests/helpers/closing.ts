import { afterAll } from 'vitest';

type Work = () => Promise<unknown>;
const open: Work[] = [];

/** What is closed when the test file is done, the newest first, wherever in the file it was opened. */
export const whenFileIsDone = (work: Work): void => void open.push(work);

/** For every test file; a worker goes from file to file, and what one leaves open is not there for the next. */
export const closeAfterwards = (): void =>
  afterAll(async () => {
    for (const work of open.splice(0).reverse()) await work();
  });
