-- Kits: parts that are made of others; and core charges, paid back when the old part is sent in.

ALTER TYPE "MovementReason" ADD VALUE 'unpacked';

CREATE TABLE "KitPart" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "kitId" UUID NOT NULL,
    "partId" UUID NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "KitPart_pkey" PRIMARY KEY ("id"),
    CONSTRAINT kit_part_self CHECK ("kitId" <> "partId"),
    CONSTRAINT kit_part_quantity CHECK (quantity > 0)
);
CREATE INDEX "KitPart_shopId_partId_idx" ON "KitPart"("shopId", "partId");
CREATE UNIQUE INDEX "KitPart_shopId_id_key" ON "KitPart"("shopId", "id");
CREATE UNIQUE INDEX "KitPart_shopId_kitId_partId_key" ON "KitPart"("shopId", "kitId", "partId");
ALTER TABLE "KitPart" ADD CONSTRAINT "KitPart_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "KitPart" ADD CONSTRAINT "KitPart_shopId_kitId_fkey" FOREIGN KEY ("shopId", "kitId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "KitPart" ADD CONSTRAINT "KitPart_shopId_partId_fkey" FOREIGN KEY ("shopId", "partId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "OrderLine" ADD COLUMN "coreCharge" DECIMAL(16,4) NOT NULL DEFAULT 0,
  ADD CONSTRAINT order_line_core_charge CHECK ("coreCharge" >= 0);

CREATE TABLE "CoreReturn" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "orderLineId" UUID NOT NULL,
    "returnedDate" DATE NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "supplierRefund" DECIMAL(16,4) NOT NULL,
    "note" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "CoreReturn_pkey" PRIMARY KEY ("id"),
    CONSTRAINT core_return_amounts CHECK (quantity > 0 AND "supplierRefund" >= 0)
);
CREATE INDEX "CoreReturn_shopId_orderLineId_idx" ON "CoreReturn"("shopId", "orderLineId");
CREATE UNIQUE INDEX "CoreReturn_shopId_id_key" ON "CoreReturn"("shopId", "id");
ALTER TABLE "CoreReturn" ADD CONSTRAINT "CoreReturn_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "CoreReturn" ADD CONSTRAINT "CoreReturn_shopId_orderLineId_fkey" FOREIGN KEY ("shopId", "orderLineId") REFERENCES "OrderLine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

CREATE TRIGGER kept_as_written BEFORE UPDATE OR DELETE ON "CoreReturn" FOR EACH ROW EXECUTE FUNCTION refuse_rewriting();
CREATE TRIGGER kept_whole BEFORE TRUNCATE ON "CoreReturn" FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();

ALTER TABLE "KitPart" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "KitPart" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
ALTER TABLE "CoreReturn" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "CoreReturn" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
