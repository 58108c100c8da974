import QRCode from 'qrcode';

/** Modules of white around a code, without which it is not found (ISO/IEC 18004). */
const QUIET = 4;

interface QrProps {
  text: string;
  label: string;
}

/** A QR code that a quarter of may be splashed over (error correction level Q). */
export function Qr({ text, label }: QrProps) {
  const { modules } = QRCode.create(text, { errorCorrectionLevel: 'Q' });
  const { size } = modules;
  const side = size + 2 * QUIET;
  const dark = Array.from(modules.data, (on, i) =>
    on ? `M${QUIET + (i % size)} ${QUIET + Math.floor(i / size)}h1v1h-1z` : '',
  );
  return (
    <svg
      class="qr"
      viewBox={`0 0 ${side} ${side}`}
      role="img"
      aria-label={label}
      shape-rendering="crispEdges"
    >
      <path class="light" d={`M0 0h${side}v${side}h-${side}z`} />
      <path class="dark" d={dark.join('')} />
    </svg>
  );
}
