-- Links by which a buyer reads a machine's paper. Only the digest of what a link holds is kept.

CREATE TABLE "DocumentLink" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "secretHash" BYTEA NOT NULL,
    "withHours" BOOLEAN NOT NULL DEFAULT false,
    "expiresDate" DATE,
    "withdrawnAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "DocumentLink_pkey" PRIMARY KEY ("id")
);
CREATE UNIQUE INDEX "DocumentLink_shopId_id_key" ON "DocumentLink"("shopId", "id");
CREATE INDEX "DocumentLink_shopId_jobId_idx" ON "DocumentLink"("shopId", "jobId");
ALTER TABLE "DocumentLink" ADD CONSTRAINT "DocumentLink_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "DocumentLink" ADD CONSTRAINT "DocumentLink_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "DocumentLink" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "DocumentLink" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
CREATE TRIGGER changes_recorded AFTER UPDATE OR DELETE ON "DocumentLink" FOR EACH ROW EXECUTE FUNCTION record_changes();
