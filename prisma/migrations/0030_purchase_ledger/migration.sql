-- What a machine was bought for stands in the ledger of its first job, corrections as dated entries; trade-ins, tax settings,
-- and a person's data erased where it is kept twice.

-- 1. Settings and trade-ins ------------------------------------------------------------------------

CREATE TYPE "SalesTaxBasis" AS ENUM ('item', 'invoice');
CREATE TYPE "MarginAccounting" AS ENUM ('item', 'global');
ALTER TABLE "Shop" ADD COLUMN "salesTaxBasis" "SalesTaxBasis" NOT NULL DEFAULT 'invoice',
  ADD COLUMN "marginAccounting" "MarginAccounting" NOT NULL DEFAULT 'item',
  ADD COLUMN "taxPeriodMonths" INTEGER NOT NULL DEFAULT 3,
  ADD COLUMN "tradeInLowersTax" BOOLEAN NOT NULL DEFAULT false,
  ADD CONSTRAINT shop_tax_period CHECK ("taxPeriodMonths" IN (1, 3, 12));

ALTER TABLE "Sale" ADD COLUMN "tradeInAllowance" DECIMAL(16,4) NOT NULL DEFAULT 0,
  ADD COLUMN "tradeInLowersTax" BOOLEAN NOT NULL DEFAULT false,
  ADD CONSTRAINT sale_trade_in CHECK ("tradeInAllowance" >= 0);
ALTER TABLE "Sale" ADD COLUMN "tradeInAcquisitionId" UUID;
CREATE UNIQUE INDEX "Sale_shopId_tradeInAcquisitionId_key" ON "Sale"("shopId", "tradeInAcquisitionId");
ALTER TABLE "Sale" ADD CONSTRAINT "Sale_shopId_tradeInAcquisitionId_fkey" FOREIGN KEY ("shopId", "tradeInAcquisitionId") REFERENCES "Acquisition"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT sale_traded CHECK (("tradeInAcquisitionId" IS NULL) = ("tradeInAllowance" = 0));
ALTER TABLE "PartSale" ADD COLUMN "invoiceId" UUID;
CREATE INDEX "PartSale_shopId_invoiceId_idx" ON "PartSale"("shopId", "invoiceId");

-- 2. The purchase in the ledger --------------------------------------------------------------------

ALTER TYPE "LedgerKind" ADD VALUE 'purchase';

-- The day of the call in the shop's time zone; of this moment where no call is under way.
CREATE FUNCTION shop_today(shop uuid) RETURNS date LANGUAGE sql STABLE AS
  $$ SELECT (coalesce(nullif(current_setting('app.now', true), '')::timestamptz, now()) AT TIME ZONE s."timeZone")::date FROM "Shop" s WHERE s.id = shop $$;

-- A machine's first job bears what the machine was bought for, jobs opened by mistake left out. What stands in the ledger is
-- made to agree: by a reversal and a new entry of today, never by a change.
CREATE FUNCTION book_purchase(machine uuid) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  bought record;
  bearer uuid;
  entry record;
  is_correction boolean := false;
BEGIN
  SELECT m."shopId" AS shop, m."acquisitionShare" AS share, a."acquiredDate" AS day INTO bought
    FROM "Machine" m LEFT JOIN "Acquisition" a ON a.id = m."acquisitionId" WHERE m.id = machine;
  SELECT j.id INTO bearer FROM "Job" j WHERE j."machineId" = machine AND j."archivedAt" IS NULL ORDER BY j.number LIMIT 1;
  FOR entry IN SELECT e.*, exists (SELECT FROM "LedgerEntry" r WHERE r."reversesId" = e.id) AS reversed
    FROM "LedgerEntry" e JOIN "Job" j ON j.id = e."jobId" WHERE j."machineId" = machine AND e.kind::text = 'purchase' AND e."reversesId" IS NULL LOOP
    is_correction := true;
    IF NOT entry.reversed THEN
      IF entry."jobId" = bearer AND entry.amount = bought.share THEN RETURN; END IF;
      INSERT INTO "LedgerEntry" (id, "shopId", "jobId", kind, amount, "occurredDate", description, "reversesId")
        VALUES (gen_random_uuid(), entry."shopId", entry."jobId", entry.kind, -entry.amount, shop_today(bought.shop),
          format('Reversal of "%s" of %s: the purchase was corrected', entry.description, entry."occurredDate"), entry.id);
    END IF;
  END LOOP;
  IF bearer IS NOT NULL AND bought.share > 0 THEN
    INSERT INTO "LedgerEntry" (id, "shopId", "jobId", kind, amount, "occurredDate", description)
      VALUES (gen_random_uuid(), bought.shop, bearer, 'purchase', bought.share,
        CASE WHEN is_correction THEN shop_today(bought.shop) ELSE coalesce(bought.day, shop_today(bought.shop)) END,
        CASE WHEN is_correction THEN 'Purchase, corrected' ELSE 'Purchase' END);
  END IF;
END $$;

CREATE FUNCTION book_purchase_of_job() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN PERFORM book_purchase(NEW."machineId"); RETURN NULL; END $$;
CREATE FUNCTION book_purchase_of_machine() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN PERFORM book_purchase(NEW.id); RETURN NULL; END $$;
CREATE TRIGGER purchase_booked AFTER INSERT ON "Job" FOR EACH ROW EXECUTE FUNCTION book_purchase_of_job();
CREATE TRIGGER purchase_moved AFTER UPDATE ON "Job" FOR EACH ROW WHEN (OLD."archivedAt" IS DISTINCT FROM NEW."archivedAt") EXECUTE FUNCTION book_purchase_of_job();
CREATE TRIGGER purchase_corrected AFTER UPDATE ON "Machine" FOR EACH ROW WHEN (OLD."acquisitionShare" <> NEW."acquisitionShare") EXECUTE FUNCTION book_purchase_of_machine();

-- 3. A person's data -------------------------------------------------------------------------------

-- History is not rewritten. Its owner may take words out, for a person whose data is to be erased: no amount, day or reference.
CREATE OR REPLACE FUNCTION refuse_rewriting() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE words text[] := ARRAY['description', 'note', 'before', 'after', 'reason'];
BEGIN
  IF TG_OP = 'UPDATE' THEN
    IF current_user = (SELECT c.relowner::regrole::text FROM pg_class c WHERE c.oid = TG_RELID) AND to_jsonb(NEW) - words = to_jsonb(OLD) - words
      THEN RETURN NEW; END IF;
  END IF;
  RAISE EXCEPTION '% rows are never changed or removed', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
END $$;

-- Takes what is said of a person in some fields of some records out of the audit, and the words out of what was booked with them.
CREATE FUNCTION erase_history(records uuid[], fields text[]) RETURNS void LANGUAGE sql SECURITY DEFINER SET search_path FROM CURRENT AS $$
  UPDATE "AuditChange" SET before = CASE WHEN before IS NOT NULL THEN 'erased' END, after = CASE WHEN after IS NOT NULL THEN 'erased' END
    WHERE "shopId" = current_shop() AND "recordId" = ANY (records) AND field = ANY (fields);
  UPDATE "AuditEntry" SET reason = 'erased' WHERE "shopId" = current_shop() AND "subjectId" = ANY (records) AND reason IS NOT NULL;
  UPDATE "LedgerEntry" SET description = CASE WHEN "reversesId" IS NULL THEN 'Paid back to the buyer' ELSE 'Reversal' END
    WHERE "shopId" = current_shop() AND ("saleId" = ANY (records) OR "customerRefundId" = ANY (records) OR "buyerOfferId" = ANY (records))
      AND ("reversesId" IS NOT NULL OR kind = 'customerRefund');
$$;

DO $$
DECLARE definer regprocedure;
BEGIN
  FOR definer IN SELECT p.oid FROM pg_proc p WHERE p.prosecdef AND p.pronamespace = current_schema()::regnamespace LOOP
    EXECUTE format('ALTER FUNCTION %s SET search_path = %I, pg_temp', definer, current_schema());
  END LOOP;
END $$;
