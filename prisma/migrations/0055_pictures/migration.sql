-- Pictures of machines, findings, tasks, coats and parts. The files lie in the store of files; here is what is known of them.

CREATE TYPE "PictureMoment" AS ENUM ('before', 'after');

CREATE TABLE "Picture" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "machineId" UUID,
    "jobId" UUID,
    "findingId" UUID,
    "taskId" UUID,
    "coatId" UUID,
    "partId" UUID,
    "moment" "PictureMoment",
    "isReceipt" BOOLEAN NOT NULL DEFAULT false,
    "caption" TEXT,
    "width" INTEGER NOT NULL,
    "height" INTEGER NOT NULL,
    "bytes" INTEGER NOT NULL,
    "takenAt" TIMESTAMPTZ(3) NOT NULL,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Picture_pkey" PRIMARY KEY ("id"),
    CONSTRAINT picture_size CHECK ("width" > 0 AND "height" > 0 AND "bytes" > 0),
    -- Of a machine or of a part; of one thing of the machine at most.
    CONSTRAINT picture_of_one_thing CHECK (num_nonnulls("machineId", "partId") = 1 AND num_nonnulls("findingId", "taskId", "coatId") <= 1
      AND ("partId" IS NULL OR num_nonnulls("jobId", "findingId", "taskId", "coatId") = 0))
);
CREATE UNIQUE INDEX "Picture_shopId_id_key" ON "Picture"("shopId", "id");
CREATE INDEX "Picture_shopId_machineId_idx" ON "Picture"("shopId", "machineId");
CREATE INDEX "Picture_shopId_partId_idx" ON "Picture"("shopId", "partId");
ALTER TABLE "Picture" ADD CONSTRAINT "Picture_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "Picture" ADD CONSTRAINT "Picture_shopId_machineId_fkey" FOREIGN KEY ("shopId", "machineId") REFERENCES "Machine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "Picture" ADD CONSTRAINT "Picture_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "Picture" ADD CONSTRAINT "Picture_shopId_findingId_fkey" FOREIGN KEY ("shopId", "findingId") REFERENCES "Finding"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "Picture" ADD CONSTRAINT "Picture_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "Picture" ADD CONSTRAINT "Picture_shopId_coatId_fkey" FOREIGN KEY ("shopId", "coatId") REFERENCES "Coat"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "Picture" ADD CONSTRAINT "Picture_shopId_partId_fkey" FOREIGN KEY ("shopId", "partId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "Picture" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "Picture" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());

-- Every table whose rows are changed tells the audit of it; those that came later had been left out.
DO $$
DECLARE changed text;
BEGIN
  FOR changed IN SELECT c.table_name FROM information_schema.columns c
    WHERE c.table_schema = current_schema() AND c.column_name = 'version'
      AND NOT EXISTS (SELECT FROM pg_trigger t WHERE t.tgname = 'changes_recorded' AND t.tgrelid = format('%I.%I', c.table_schema, c.table_name)::regclass) LOOP
    EXECUTE format('CREATE TRIGGER changes_recorded AFTER UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION record_changes()', changed);
  END LOOP;
END $$;
