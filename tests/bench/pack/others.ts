import { pack2D } from 'binpackingjs/2d';
import { packer } from 'guillotine-packer';
import { MaxRectsPacker, PACKING_LOGIC } from 'maxrects-packer';
import type { Boxes } from './instances.ts';

/** The rectangle packers of the registry that turn pieces and open bins as they need them: how many bins each uses. */
export const OTHERS: Record<string, (instance: Boxes) => number> = {
  'maxrects-packer': ({ side, boxes }) => {
    const bins = new MaxRectsPacker(side, side, 0, {
      smart: false,
      pot: false,
      square: false,
      allowRotation: true,
      border: 0,
      logic: PACKING_LOGIC.MAX_AREA,
    });
    bins.addArray(boxes.map(([width, height]) => ({ width, height, x: 0, y: 0 })) as never);
    return bins.bins.length;
  },
  'guillotine-packer': ({ side, boxes }) => {
    const items = boxes.map(([width, height], i) => ({ name: String(i), width, height }));
    return (
      packer({ binWidth: side, binHeight: side, items }, { kerfSize: 0, allowRotation: true })?.length ?? 0
    );
  },
  binpackingjs: ({ side, boxes }) => {
    const bins = boxes.map(() => ({ width: side, height: side }));
    const { packedBins, unpackedBoxes } = pack2D({
      bins,
      boxes: boxes.map(([width, height]) => ({ width, height })),
    });
    if (unpackedBoxes.length > 0) throw new Error('binpackingjs left something out.');
    return packedBins.filter((bin) => bin.boxes.length > 0).length;
  },
};
