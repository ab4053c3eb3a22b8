-- What was asked on which day, what buyers offered, deposits, and what a comparable and a sale had fitted.

ALTER TYPE "LedgerKind" ADD VALUE 'deposit';
ALTER TYPE "LedgerKind" ADD VALUE 'depositApplied';
ALTER TYPE "LedgerKind" ADD VALUE 'depositReturned';
ALTER TYPE "LedgerKind" ADD VALUE 'depositForfeited';
CREATE TYPE "BuyerOfferStatus" AS ENUM ('open', 'accepted', 'refused', 'withdrawn');
CREATE TYPE "DepositStatus" AS ENUM ('held', 'applied', 'returned', 'forfeited');

ALTER TABLE "Shop" ADD COLUMN "enquiryElasticity" DECIMAL(5,2) NOT NULL DEFAULT 4,
  ADD CONSTRAINT shop_enquiry_elasticity CHECK ("enquiryElasticity" >= 0 AND "enquiryElasticity" <= 20);
ALTER TABLE "Comparable" ADD COLUMN "equipment" JSONB NOT NULL DEFAULT '[]', ADD COLUMN "warnings" JSONB NOT NULL DEFAULT '[]';
ALTER TABLE "Offer" RENAME COLUMN "floorPrice" TO "reservationPrice";

CREATE TABLE "AskChange" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "offerId" UUID NOT NULL,
    "fromDate" DATE NOT NULL,
    "askPrice" DECIMAL(16,4) NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "AskChange_pkey" PRIMARY KEY ("id"),
    CONSTRAINT ask_change_price CHECK ("askPrice" > 0)
);
CREATE UNIQUE INDEX "AskChange_shopId_id_key" ON "AskChange"("shopId", "id");
CREATE INDEX "AskChange_shopId_offerId_idx" ON "AskChange"("shopId", "offerId");
ALTER TABLE "AskChange" ADD CONSTRAINT "AskChange_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "AskChange" ADD CONSTRAINT "AskChange_shopId_offerId_fkey" FOREIGN KEY ("shopId", "offerId") REFERENCES "Offer"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
CREATE TRIGGER kept_as_written BEFORE UPDATE OR DELETE ON "AskChange" FOR EACH ROW EXECUTE FUNCTION refuse_rewriting();
CREATE TRIGGER kept_whole BEFORE TRUNCATE ON "AskChange" FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();

CREATE TABLE "BuyerOffer" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "offeredDate" DATE NOT NULL,
    "amount" DECIMAL(16,4) NOT NULL,
    "buyer" TEXT,
    "note" TEXT,
    "status" "BuyerOfferStatus" NOT NULL DEFAULT 'open',
    "decidedDate" DATE,
    "counterPrice" DECIMAL(16,4),
    "holdUntilDate" DATE,
    "deposit" DECIMAL(16,4) NOT NULL DEFAULT 0,
    "depositStatus" "DepositStatus",
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "BuyerOffer_pkey" PRIMARY KEY ("id"),
    CONSTRAINT buyer_offer_amounts CHECK (amount > 0 AND deposit >= 0 AND deposit <= amount AND ("counterPrice" IS NULL OR "counterPrice" > 0)),
    CONSTRAINT buyer_offer_deposit CHECK ((deposit = 0) = ("depositStatus" IS NULL)),
    CONSTRAINT buyer_offer_decided CHECK ((status = 'open') = ("decidedDate" IS NULL))
);
CREATE UNIQUE INDEX "BuyerOffer_shopId_id_key" ON "BuyerOffer"("shopId", "id");
CREATE INDEX "BuyerOffer_shopId_jobId_idx" ON "BuyerOffer"("shopId", "jobId");
CREATE UNIQUE INDEX one_accepted_offer_a_job ON "BuyerOffer" ("jobId") WHERE status = 'accepted';
ALTER TABLE "BuyerOffer" ADD CONSTRAINT "BuyerOffer_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "BuyerOffer" ADD CONSTRAINT "BuyerOffer_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "Sale" ADD COLUMN "condition" INTEGER NOT NULL DEFAULT 4, ADD COLUMN "equipment" JSONB NOT NULL DEFAULT '[]', ADD COLUMN "buyerOfferId" UUID,
  ADD CONSTRAINT sale_condition CHECK ("condition" BETWEEN 1 AND 5);
ALTER TABLE "Sale" ADD CONSTRAINT "Sale_shopId_buyerOfferId_fkey" FOREIGN KEY ("shopId", "buyerOfferId") REFERENCES "BuyerOffer"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "LedgerEntry" ADD COLUMN "buyerOfferId" UUID;
CREATE INDEX "LedgerEntry_shopId_buyerOfferId_idx" ON "LedgerEntry"("shopId", "buyerOfferId");
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_buyerOfferId_fkey" FOREIGN KEY ("shopId", "buyerOfferId") REFERENCES "BuyerOffer"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Words, not values of the type: those that were just added cannot be used before this is committed.
ALTER TABLE "LedgerEntry" DROP CONSTRAINT ledger_one_cause, DROP CONSTRAINT ledger_cause_of_kind,
  ADD CONSTRAINT ledger_one_cause CHECK (num_nonnulls("partNeedId", "coatId", "taskId", "saleId", "customerRefundId", "buyerOfferId") <= 1),
  ADD CONSTRAINT ledger_cause_of_kind CHECK (CASE
    WHEN "partNeedId" IS NOT NULL OR "taskId" IS NOT NULL THEN kind::text = 'part' WHEN "coatId" IS NOT NULL THEN kind::text = 'consumable'
    WHEN "saleId" IS NOT NULL THEN kind::text IN ('saleProceeds', 'selling', 'tax', 'depositApplied')
    WHEN "customerRefundId" IS NOT NULL THEN kind::text = 'customerRefund'
    WHEN "buyerOfferId" IS NOT NULL THEN kind::text IN ('deposit', 'depositReturned', 'depositForfeited', 'other') ELSE true END);

ALTER TABLE "AskChange" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "AskChange" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
ALTER TABLE "BuyerOffer" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "BuyerOffer" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
