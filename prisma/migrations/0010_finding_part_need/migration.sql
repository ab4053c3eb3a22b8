-- Which part need meets a finding, so that what is to be replaced and has no part yet can be told.

ALTER TABLE "Finding" ADD COLUMN "partNeedId" UUID;
CREATE INDEX "Finding_shopId_partNeedId_idx" ON "Finding"("shopId", "partNeedId");
ALTER TABLE "Finding" ADD CONSTRAINT "Finding_shopId_partNeedId_fkey" FOREIGN KEY ("shopId", "partNeedId") REFERENCES "PartNeed"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
