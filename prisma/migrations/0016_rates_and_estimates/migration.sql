-- What an hour and a day of space cost from which day on, so that closed jobs stay as they were; and what a job was first
-- estimated to cost.

CREATE TABLE "ShopRate" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "fromDate" DATE NOT NULL,
    "hourlyValue" DECIMAL(16,4) NOT NULL,
    "spaceCostPerDay" DECIMAL(16,4) NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "ShopRate_pkey" PRIMARY KEY ("id"),
    CONSTRAINT shop_rate_amounts CHECK ("hourlyValue" >= 0 AND "spaceCostPerDay" >= 0)
);
CREATE UNIQUE INDEX "ShopRate_shopId_id_key" ON "ShopRate"("shopId", "id");
CREATE UNIQUE INDEX "ShopRate_shopId_fromDate_key" ON "ShopRate"("shopId", "fromDate");
ALTER TABLE "ShopRate" ADD CONSTRAINT "ShopRate_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

CREATE TABLE "FirstEstimate" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "estimatedDate" DATE NOT NULL,
    "purchase" DECIMAL(16,4) NOT NULL,
    "labour" DECIMAL(16,4) NOT NULL,
    "parts" DECIMAL(16,4) NOT NULL,
    "paint" DECIMAL(16,4) NOT NULL,
    "space" DECIMAL(16,4) NOT NULL,
    "other" DECIMAL(16,4) NOT NULL,
    "surprises" DECIMAL(16,4) NOT NULL,
    "low" DECIMAL(16,4) NOT NULL,
    "likely" DECIMAL(16,4) NOT NULL,
    "high" DECIMAL(16,4) NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "FirstEstimate_pkey" PRIMARY KEY ("id")
);
CREATE UNIQUE INDEX "FirstEstimate_shopId_id_key" ON "FirstEstimate"("shopId", "id");
CREATE UNIQUE INDEX "FirstEstimate_shopId_jobId_key" ON "FirstEstimate"("shopId", "jobId");
ALTER TABLE "FirstEstimate" ADD CONSTRAINT "FirstEstimate_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "FirstEstimate" ADD CONSTRAINT "FirstEstimate_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
CREATE TRIGGER kept_as_written BEFORE UPDATE OR DELETE ON "FirstEstimate" FOR EACH ROW EXECUTE FUNCTION refuse_rewriting();
CREATE TRIGGER kept_whole BEFORE TRUNCATE ON "FirstEstimate" FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();

ALTER TABLE "ShopRate" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "ShopRate" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
ALTER TABLE "FirstEstimate" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "FirstEstimate" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
