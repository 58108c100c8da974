/** Loaded before the service by a bench: says how much memory is in use when it is asked to. */
process.on('message', () => {
  global.gc?.();
  global.gc?.();
  const { heapUsed, rss } = process.memoryUsage();
  process.send?.({ heapUsed, rss });
});
