-- What happens after a sale, and money that comes in otherwise: warranty jobs, money paid back to buyers, machines that come
-- back, parts sold out of bins, remains sold as scrap.

CREATE TYPE "JobPurpose" AS ENUM ('refurbish', 'warranty');
ALTER TYPE "JobOutcome" ADD VALUE 'handedBack';
ALTER TYPE "JobOutcome" ADD VALUE 'returned';
ALTER TYPE "LedgerKind" ADD VALUE 'customerRefund';
ALTER TYPE "MovementReason" ADD VALUE 'sold';

ALTER TABLE "Job" ADD COLUMN "purpose" "JobPurpose" NOT NULL DEFAULT 'refurbish';

-- How a sale was taxed stays with it: what is paid back later is computed in the same way.
ALTER TABLE "Sale" ADD COLUMN "taxScheme" "TaxScheme" NOT NULL DEFAULT 'none',
  ADD COLUMN "taxRatePercent" DECIMAL(7,4) NOT NULL DEFAULT 0,
  ADD COLUMN "customerRefundTotal" DECIMAL(16,4) NOT NULL DEFAULT 0,
  ADD COLUMN "returnedDate" DATE,
  ADD CONSTRAINT sale_repaid CHECK ("customerRefundTotal" >= 0 AND "customerRefundTotal" <= price),
  ADD CONSTRAINT sale_returned CHECK ("returnedDate" IS NULL OR "returnedDate" >= "soldDate");
-- Only the margin scheme books its tax in the ledger. What sales tax was collected tells its rate; that of the margin scheme
-- is taken to be the shop's of today.
UPDATE "Sale" s SET "taxRatePercent" = CASE WHEN s."taxCollected" > 0 AND s.price > 0
    AND NOT EXISTS (SELECT FROM "LedgerEntry" e WHERE e."shopId" = s."shopId" AND e."sourceId" = s.id AND e.kind = 'tax')
    THEN least(round(s."taxCollected" * 100 / s.price, 4), 999) ELSE h."taxRatePercent" END, "taxScheme" = (CASE
    WHEN EXISTS (SELECT FROM "LedgerEntry" e WHERE e."shopId" = s."shopId" AND e."sourceId" = s.id AND e.kind = 'tax') THEN 'marginScheme'
    WHEN s."taxCollected" > 0 THEN 'salesTax' ELSE 'none' END)::"TaxScheme"
  FROM "Shop" h WHERE h.id = s."shopId";

CREATE TABLE "CustomerRefund" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "saleId" UUID NOT NULL,
    "refundedDate" DATE NOT NULL,
    "amount" DECIMAL(16,4) NOT NULL,
    "taxRefund" DECIMAL(16,4) NOT NULL,
    "machineReturned" BOOLEAN NOT NULL,
    "reason" TEXT NOT NULL,
    "reversedDate" DATE,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "CustomerRefund_pkey" PRIMARY KEY ("id"),
    CONSTRAINT repayment_amount CHECK ("taxRefund" >= 0 AND (amount > 0 OR (amount = 0 AND "machineReturned")))
);
CREATE UNIQUE INDEX "CustomerRefund_shopId_id_key" ON "CustomerRefund"("shopId", "id");
CREATE INDEX "CustomerRefund_shopId_saleId_idx" ON "CustomerRefund"("shopId", "saleId");
ALTER TABLE "CustomerRefund" ADD CONSTRAINT "CustomerRefund_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "CustomerRefund" ADD CONSTRAINT "CustomerRefund_shopId_saleId_fkey" FOREIGN KEY ("shopId", "saleId") REFERENCES "Sale"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

CREATE TABLE "PartSale" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "stockId" UUID NOT NULL,
    "soldDate" DATE NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "price" DECIMAL(16,4) NOT NULL,
    "taxScheme" "TaxScheme" NOT NULL,
    "taxCollected" DECIMAL(16,4) NOT NULL,
    "sellingCost" DECIMAL(16,4) NOT NULL,
    "buyer" TEXT,
    "channel" TEXT,
    "note" TEXT,
    "reversedDate" DATE,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PartSale_pkey" PRIMARY KEY ("id"),
    CONSTRAINT part_sale_amounts CHECK (quantity > 0 AND price >= 0 AND "taxCollected" >= 0 AND "sellingCost" >= 0)
);
CREATE UNIQUE INDEX "PartSale_shopId_id_key" ON "PartSale"("shopId", "id");
CREATE INDEX "PartSale_shopId_stockId_idx" ON "PartSale"("shopId", "stockId");
CREATE INDEX "PartSale_shopId_soldDate_idx" ON "PartSale"("shopId", "soldDate");
ALTER TABLE "PartSale" ADD CONSTRAINT "PartSale_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "PartSale" ADD CONSTRAINT "PartSale_shopId_stockId_fkey" FOREIGN KEY ("shopId", "stockId") REFERENCES "Stock"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

CREATE TABLE "ScrapSale" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "machineId" UUID NOT NULL,
    "soldDate" DATE NOT NULL,
    "proceeds" DECIMAL(16,4) NOT NULL,
    "buyer" TEXT,
    "note" TEXT,
    "reversedDate" DATE,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "ScrapSale_pkey" PRIMARY KEY ("id"),
    CONSTRAINT scrap_sale_amount CHECK (proceeds >= 0)
);
CREATE UNIQUE INDEX "ScrapSale_shopId_id_key" ON "ScrapSale"("shopId", "id");
CREATE INDEX "ScrapSale_shopId_machineId_idx" ON "ScrapSale"("shopId", "machineId");
CREATE UNIQUE INDEX one_standing_scrap_sale_a_machine ON "ScrapSale" ("machineId") WHERE "reversedDate" IS NULL;
ALTER TABLE "ScrapSale" ADD CONSTRAINT "ScrapSale_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "ScrapSale" ADD CONSTRAINT "ScrapSale_shopId_machineId_fkey" FOREIGN KEY ("shopId", "machineId") REFERENCES "Machine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "CustomerRefund" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "CustomerRefund" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
ALTER TABLE "PartSale" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "PartSale" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
ALTER TABLE "ScrapSale" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "ScrapSale" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
