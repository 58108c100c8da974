/** The proxy of the tests as a process of its own, so that it takes no time from whoever sends the requests. */
import { startProxy } from '../helpers/proxy.ts';

const { PORT, UPSTREAMS = '' } = process.env;
await startProxy(UPSTREAMS.split(' ').map(Number), Number(PORT));
process.on('SIGTERM', () => process.exit(0));
