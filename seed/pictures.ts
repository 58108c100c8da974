import sharp from 'sharp';
import { type Picture, pictureIn } from '../server/core/files.ts';

/** A drawing as if somebody had taken a photo of it. */
export async function photoOf(svg: string): Promise<Picture> {
  const bytes = await sharp(Buffer.from(svg)).png().toBuffer();
  return pictureIn({ bytes, isTooLarge: false }, 'photo');
}
