import { closeAfterwards } from './closing.ts';

closeAfterwards();
