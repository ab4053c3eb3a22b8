/** Where a picture's two files lie in the store, and how they are read. */
import { NotFound } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';

export type PictureSize = 'full' | 'thumbnail';

export const pictureKey = (shopId: string, pictureId: string, size: PictureSize): string =>
  `${shopId}/${pictureId}${size === 'full' ? '' : '-thumbnail'}.jpg`;

/** The keys of all files that the records of all shops name; for the backup. */
export const pictureKeys = `select format('%s/%s%s.jpg', "shopId", id, size) as key
  from "Picture", (values (''), ('-thumbnail')) of (size) order by 1`;

/** Which pictures a key may see: those of receipts tell prices. */
export const visiblePictures = (context: Pick<OperationContext, 'role'>) =>
  context.role === 'helper' ? { isReceipt: false } : {};

/**
 * @returns a JPEG
 * @throws NotFound also for a picture that this key may not see, and one whose file is gone
 */
export async function readPicture(context: OperationContext, id: string, size: PictureSize): Promise<Buffer> {
  const picture = await findOne(context.tx.picture, 'picture', id);
  const file =
    picture.isReceipt && context.role === 'helper'
      ? undefined
      : await context.files.get(pictureKey(context.shop.id, id, size));
  if (!file) throw new NotFound('picture', id);
  return file;
}
