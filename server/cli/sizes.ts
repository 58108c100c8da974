/** Bytes as a person reads them, in MiB or GiB. */
export function wholeMebibytes(bytes: number): string {
  const mebibytes = bytes / 2 ** 20;
  if (mebibytes >= 10_240) return `${Math.round(mebibytes / 1024)} GiB`;
  return mebibytes < 10 ? `${mebibytes.toFixed(1)} MiB` : `${Math.round(mebibytes)} MiB`;
}
