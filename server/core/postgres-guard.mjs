// Stands between Node and Postgres. However Node ends, SIGKILL included, our standard input closes and Postgres
// is shut down cleanly; Postgres alone would go on for ever. Plain JavaScript, because it has to start at once.
import { spawn } from 'node:child_process';

const FAST_SHUTDOWN_MS = 20_000;
const IMMEDIATE_SHUTDOWN_MS = 5_000;

// The name by which a later start recognises us; also keeps `pkill node` from taking us along.
process.title = 'wareboard-guard';

// Only the closed pipe ends Postgres: on Ctrl-C the application still has requests to finish.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => {});

const { program, args, options } = JSON.parse(process.argv[2]);
const server = spawn(program, args, { ...options, detached: true, stdio: ['ignore', 2, 2] });

let stopping = false;
function stop() {
  if (stopping) return;
  stopping = true;
  server.kill('SIGINT');
  setTimeout(() => server.kill('SIGQUIT'), FAST_SHUTDOWN_MS);
  setTimeout(() => server.kill('SIGKILL'), FAST_SHUTDOWN_MS + IMMEDIATE_SHUTDOWN_MS);
}

server.on('error', (error) => {
  process.stderr.write(`${error.message}\n`);
  process.exit(1);
});
server.on('exit', () => process.exit(stopping ? 0 : 1));
process.stdin.on('end', stop).on('error', stop).on('close', stop).resume();
