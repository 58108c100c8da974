import { extentOf, type Size } from '../ware/size.ts';
import type { Tariff } from './tariff.ts';
import { dayAfter } from './timeline.ts';

/**
 * Whether a piece was asked for so soon that the list's rush surcharge is on it.
 *
 * @param registered the day it was registered; days of the studio's calendar, 'YYYY-MM-DD'
 */
export const isRush = (
  { rush }: Pick<Tariff, 'rush'>,
  wantedBy: string | null,
  registered: string,
): boolean => rush !== null && wantedBy !== null && wantedBy <= dayAfter(registered, rush.withinDays);

/** The sides of a piece's bounding box, mm; what is round is as wide as it is deep. */
export const boxOf = ({ footprint, heightMm }: Size) => ({ ...extentOf(footprint), heightMm });
