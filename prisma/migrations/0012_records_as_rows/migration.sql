-- Lists that stood in one value are rows with checks; a ledger entry names what booked it; the audit says what changed.

SET CONSTRAINTS ALL IMMEDIATE;

CREATE TABLE "AuditChange" (
    "id" UUID NOT NULL DEFAULT gen_random_uuid(),
    "shopId" UUID NOT NULL,
    "auditEntryId" UUID NOT NULL,
    "record" TEXT NOT NULL,
    "recordId" UUID NOT NULL,
    "field" TEXT NOT NULL,
    "before" TEXT,
    "after" TEXT,

    CONSTRAINT "AuditChange_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "RouteTask" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "routeId" UUID NOT NULL,
    "position" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "kind" "TaskKind" NOT NULL,
    "handsOnMinutes" INTEGER NOT NULL,
    "minMinutes" INTEGER NOT NULL,
    "maxMinutes" INTEGER NOT NULL,
    "people" INTEGER NOT NULL DEFAULT 1,
    "placeKind" "PlaceKind",
    "pausable" BOOLEAN NOT NULL DEFAULT true,
    "needsPaintWeather" BOOLEAN NOT NULL DEFAULT false,
    "cureMinutes" INTEGER NOT NULL DEFAULT 0,
    "cautions" TEXT[],
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "RouteTask_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "RouteTaskLink" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "taskId" UUID NOT NULL,
    "predecessorId" UUID NOT NULL,
    "position" INTEGER NOT NULL,
    "minWaitMinutes" INTEGER NOT NULL DEFAULT 0,
    "forbiddenIntervals" JSONB NOT NULL DEFAULT '[]',
    "reason" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "RouteTaskLink_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "MakerNumber" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "partId" UUID NOT NULL,
    "position" INTEGER NOT NULL,
    "maker" TEXT NOT NULL,
    "number" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "MakerNumber_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "RecoatWindow" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "productId" UUID NOT NULL,
    "fromMinutes" INTEGER NOT NULL,
    "toMinutes" INTEGER,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "RecoatWindow_pkey" PRIMARY KEY ("id")
);
CREATE INDEX "AuditChange_shopId_auditEntryId_idx" ON "AuditChange"("shopId", "auditEntryId");
CREATE INDEX "AuditChange_shopId_recordId_idx" ON "AuditChange"("shopId", "recordId");
CREATE UNIQUE INDEX "AuditChange_shopId_id_key" ON "AuditChange"("shopId", "id");
CREATE UNIQUE INDEX "RouteTask_shopId_id_key" ON "RouteTask"("shopId", "id");
CREATE UNIQUE INDEX "RouteTask_shopId_routeId_code_key" ON "RouteTask"("shopId", "routeId", "code");
CREATE UNIQUE INDEX "RouteTask_shopId_routeId_position_key" ON "RouteTask"("shopId", "routeId", "position");
CREATE INDEX "RouteTaskLink_shopId_predecessorId_idx" ON "RouteTaskLink"("shopId", "predecessorId");
CREATE UNIQUE INDEX "RouteTaskLink_shopId_id_key" ON "RouteTaskLink"("shopId", "id");
CREATE UNIQUE INDEX "RouteTaskLink_shopId_taskId_predecessorId_key" ON "RouteTaskLink"("shopId", "taskId", "predecessorId");
CREATE UNIQUE INDEX "MakerNumber_shopId_id_key" ON "MakerNumber"("shopId", "id");
CREATE UNIQUE INDEX "MakerNumber_shopId_partId_position_key" ON "MakerNumber"("shopId", "partId", "position");
CREATE UNIQUE INDEX "RecoatWindow_shopId_id_key" ON "RecoatWindow"("shopId", "id");
CREATE UNIQUE INDEX "RecoatWindow_shopId_productId_fromMinutes_key" ON "RecoatWindow"("shopId", "productId", "fromMinutes");
ALTER TABLE "AuditChange" ADD CONSTRAINT "AuditChange_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "AuditChange" ADD CONSTRAINT "AuditChange_shopId_auditEntryId_fkey" FOREIGN KEY ("shopId", "auditEntryId") REFERENCES "AuditEntry"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE "RouteTask" ADD CONSTRAINT "RouteTask_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RouteTask" ADD CONSTRAINT "RouteTask_shopId_routeId_fkey" FOREIGN KEY ("shopId", "routeId") REFERENCES "Route"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RouteTaskLink" ADD CONSTRAINT "RouteTaskLink_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RouteTaskLink" ADD CONSTRAINT "RouteTaskLink_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "RouteTask"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RouteTaskLink" ADD CONSTRAINT "RouteTaskLink_shopId_predecessorId_fkey" FOREIGN KEY ("shopId", "predecessorId") REFERENCES "RouteTask"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "MakerNumber" ADD CONSTRAINT "MakerNumber_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "MakerNumber" ADD CONSTRAINT "MakerNumber_shopId_partId_fkey" FOREIGN KEY ("shopId", "partId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RecoatWindow" ADD CONSTRAINT "RecoatWindow_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RecoatWindow" ADD CONSTRAINT "RecoatWindow_shopId_productId_fkey" FOREIGN KEY ("shopId", "productId") REFERENCES "CoatingProduct"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- 1. Lists ----------------------------------------------------------------------------------------

ALTER TABLE "OrderLine" ADD COLUMN "position" INTEGER;
UPDATE "OrderLine" l SET "position" = n.place FROM (SELECT id, row_number() OVER (PARTITION BY "orderId" ORDER BY "createdAt", id) AS place FROM "OrderLine") n WHERE n.id = l.id;
ALTER TABLE "OrderLine" ALTER COLUMN "position" SET NOT NULL, ADD CONSTRAINT order_line_position CHECK ("position" >= 1);
ALTER TABLE "KitPart" ADD COLUMN "position" INTEGER;
UPDATE "KitPart" k SET "position" = n.place FROM (SELECT id, row_number() OVER (PARTITION BY "kitId" ORDER BY "createdAt", id) AS place FROM "KitPart") n WHERE n.id = k.id;
ALTER TABLE "KitPart" ALTER COLUMN "position" SET NOT NULL, ADD CONSTRAINT kit_part_position CHECK ("position" >= 1);
ALTER TABLE "PartNeed" ADD COLUMN "position" INTEGER NOT NULL DEFAULT 1;

INSERT INTO "MakerNumber" (id, "shopId", "partId", "position", maker, number)
  SELECT gen_random_uuid(), p."shopId", p.id, n.place, n.value->>'maker', n.value->>'number' FROM "Part" p, jsonb_array_elements(p."makerNumbers") WITH ORDINALITY n(value, place);
ALTER TABLE "Part" DROP COLUMN "makerNumbers";
ALTER TABLE "MakerNumber" ADD CONSTRAINT maker_number_values CHECK ("position" >= 1 AND maker <> '' AND number <> '');
-- Found by any piece of the number, written with or without its dashes and blanks.
CREATE EXTENSION IF NOT EXISTS pg_trgm;
CREATE FUNCTION plain_number(number text) RETURNS text LANGUAGE sql IMMUTABLE PARALLEL SAFE AS
  $$ SELECT lower(regexp_replace(number, '[^0-9A-Za-z]', '', 'g')) $$;
CREATE INDEX maker_number_plain ON "MakerNumber" USING gin (plain_number(number) gin_trgm_ops);
-- Runs as the tables' owner, for the one shop: row-level security would look at each row before LIKE may, and so at no index.
CREATE FUNCTION parts_numbered(piece text) RETURNS TABLE (id uuid) LANGUAGE sql STABLE SECURITY DEFINER SET search_path FROM CURRENT AS
  $$ SELECT DISTINCT n."partId" FROM "MakerNumber" n
     WHERE n."shopId" = current_shop() AND plain_number(piece) <> '' AND plain_number(n.number) LIKE '%' || plain_number(piece) || '%' $$;

INSERT INTO "RecoatWindow" (id, "shopId", "productId", "fromMinutes", "toMinutes")
  SELECT gen_random_uuid(), p."shopId", p.id, (w->>'fromMinutes')::int, (w->>'toMinutes')::int FROM "CoatingProduct" p, jsonb_array_elements(p."recoatMinutes") w;
ALTER TABLE "CoatingProduct" DROP COLUMN "recoatMinutes";
ALTER TABLE "RecoatWindow" ADD CONSTRAINT recoat_window_order CHECK ("fromMinutes" >= 0 AND "toMinutes" > "fromMinutes"),
  -- Windows of one can stand apart; both their ends belong to them.
  ADD CONSTRAINT recoat_windows_apart EXCLUDE USING gist ("productId" WITH =, int8range("fromMinutes", "toMinutes", '[]') WITH &&);

INSERT INTO "RouteTask" (id, "shopId", "routeId", "position", code, name, kind, "handsOnMinutes", "minMinutes", "maxMinutes", people, "placeKind", pausable, "needsPaintWeather", "cureMinutes", cautions)
  SELECT gen_random_uuid(), r."shopId", r.id, t.place, v->>'code', v->>'name', (v->>'kind')::"TaskKind", (v->>'handsOnMinutes')::int, (v->>'minMinutes')::int, (v->>'maxMinutes')::int,
    (v->>'people')::int, (v->>'placeKind')::"PlaceKind", (v->>'pausable')::boolean, (v->>'needsPaintWeather')::boolean, (v->>'cureMinutes')::int,
    ARRAY(SELECT jsonb_array_elements_text(v->'cautions'))
  FROM "Route" r, jsonb_array_elements(r.tasks) WITH ORDINALITY t(v, place);
INSERT INTO "RouteTaskLink" (id, "shopId", "taskId", "predecessorId", "position", "minWaitMinutes", "forbiddenIntervals", reason)
  SELECT gen_random_uuid(), r."shopId", later.id, earlier.id, a.place, (l->>'minWaitMinutes')::int, l->'forbiddenIntervals', l->>'reason'
  FROM "Route" r, jsonb_array_elements(r.tasks) v, jsonb_array_elements(v->'after') WITH ORDINALITY a(l, place), "RouteTask" later, "RouteTask" earlier
  WHERE later."routeId" = r.id AND later.code = v->>'code' AND earlier."routeId" = r.id AND earlier.code = l->>'code';
ALTER TABLE "Route" DROP COLUMN "tasks";
ALTER TABLE "RouteTask" ADD CONSTRAINT route_task_position CHECK ("position" >= 1),
  ADD CONSTRAINT route_task_minutes CHECK ("minMinutes" >= 0 AND "minMinutes" <= "handsOnMinutes" AND "handsOnMinutes" <= "maxMinutes" AND "cureMinutes" >= 0),
  ADD CONSTRAINT route_task_people CHECK (people BETWEEN 0 AND 20);
ALTER TABLE "RouteTaskLink" ADD CONSTRAINT route_task_link_self CHECK ("taskId" <> "predecessorId"),
  ADD CONSTRAINT route_task_link_wait CHECK ("minWaitMinutes" >= 0 AND "position" >= 1),
  ADD CONSTRAINT route_task_link_intervals CHECK (jsonb_typeof("forbiddenIntervals") = 'array');
ALTER TABLE "TaskLink" ADD CONSTRAINT task_link_intervals CHECK (jsonb_typeof("forbiddenIntervals") = 'array');
DROP INDEX "OrderLine_shopId_orderId_idx";
CREATE UNIQUE INDEX "OrderLine_shopId_orderId_position_key" ON "OrderLine"("shopId", "orderId", "position");

-- 2. What booked a ledger entry -------------------------------------------------------------------

ALTER TABLE "LedgerEntry" ADD COLUMN "partNeedId" UUID, ADD COLUMN "coatId" UUID, ADD COLUMN "taskId" UUID, ADD COLUMN "saleId" UUID, ADD COLUMN "customerRefundId" UUID;
ALTER TABLE "LedgerEntry" DISABLE TRIGGER kept_as_written;
UPDATE "LedgerEntry" e SET "partNeedId" = (SELECT id FROM "PartNeed" WHERE id = e."sourceId"), "coatId" = (SELECT id FROM "Coat" WHERE id = e."sourceId"),
  "taskId" = (SELECT id FROM "Task" WHERE id = e."sourceId"), "saleId" = (SELECT id FROM "Sale" WHERE id = e."sourceId"),
  "customerRefundId" = (SELECT id FROM "CustomerRefund" WHERE id = e."sourceId") WHERE e."sourceId" IS NOT NULL;
ALTER TABLE "LedgerEntry" ENABLE TRIGGER kept_as_written;
ALTER TABLE "LedgerEntry" DROP COLUMN "sourceId",
  ADD CONSTRAINT ledger_one_cause CHECK (num_nonnulls("partNeedId", "coatId", "taskId", "saleId", "customerRefundId") <= 1),
  ADD CONSTRAINT ledger_cause_of_kind CHECK (CASE
    WHEN "partNeedId" IS NOT NULL OR "taskId" IS NOT NULL THEN kind = 'part' WHEN "coatId" IS NOT NULL THEN kind = 'consumable'
    WHEN "saleId" IS NOT NULL THEN kind IN ('saleProceeds', 'selling', 'tax') WHEN "customerRefundId" IS NOT NULL THEN kind = 'customerRefund' ELSE true END);
CREATE INDEX "LedgerEntry_shopId_partNeedId_idx" ON "LedgerEntry"("shopId", "partNeedId");
CREATE INDEX "LedgerEntry_shopId_coatId_idx" ON "LedgerEntry"("shopId", "coatId");
CREATE INDEX "LedgerEntry_shopId_taskId_idx" ON "LedgerEntry"("shopId", "taskId");
CREATE INDEX "LedgerEntry_shopId_saleId_idx" ON "LedgerEntry"("shopId", "saleId");
CREATE INDEX "LedgerEntry_shopId_customerRefundId_idx" ON "LedgerEntry"("shopId", "customerRefundId");
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_partNeedId_fkey" FOREIGN KEY ("shopId", "partNeedId") REFERENCES "PartNeed"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_coatId_fkey" FOREIGN KEY ("shopId", "coatId") REFERENCES "Coat"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_saleId_fkey" FOREIGN KEY ("shopId", "saleId") REFERENCES "Sale"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_customerRefundId_fkey" FOREIGN KEY ("shopId", "customerRefundId") REFERENCES "CustomerRefund"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- 3. What a command changed -----------------------------------------------------------------------

ALTER TABLE "AuditEntry" DROP COLUMN "detail";
CREATE TRIGGER kept_as_written BEFORE UPDATE OR DELETE ON "AuditChange" FOR EACH ROW EXECUTE FUNCTION refuse_rewriting();
CREATE TRIGGER kept_whole BEFORE TRUNCATE ON "AuditChange" FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();

-- One row a field, as text, so that an amount keeps its digits. Without an entry to belong to (the first filling of a shop)
-- nothing is written. A secret's digest is told by no column of it.
CREATE FUNCTION record_changes() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  entry uuid := nullif(current_setting('app.audit_entry', true), '')::uuid;
  unsaid text[] := ARRAY['id', 'shopId', 'version', 'createdAt', 'updatedAt', 'secretHash'];
  was jsonb := CASE WHEN TG_OP = 'INSERT' THEN '{}' ELSE to_jsonb(OLD) END;
  now_is jsonb := CASE WHEN TG_OP = 'DELETE' THEN '{}' ELSE to_jsonb(NEW) END;
  either jsonb := was || now_is;
BEGIN
  IF entry IS NULL THEN RETURN NULL; END IF;
  INSERT INTO "AuditChange" ("shopId", "auditEntryId", record, "recordId", field, before, after)
    SELECT coalesce((either->>'shopId')::uuid, (either->>'id')::uuid), entry, TG_TABLE_NAME, (either->>'id')::uuid, field, was->>field, now_is->>field
    FROM jsonb_object_keys(either - unsaid) field WHERE was->>field IS DISTINCT FROM now_is->>field;
  RETURN NULL;
END $$;

DO $$
DECLARE changed text;
BEGIN
  FOR changed IN SELECT table_name FROM information_schema.columns WHERE table_schema = current_schema() AND column_name = 'version' LOOP
    EXECUTE format('CREATE TRIGGER changes_recorded AFTER UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION record_changes()', changed);
  END LOOP;
  -- Sales carry no version, and links none either; lists are replaced as wholes.
  FOREACH changed IN ARRAY ARRAY['Sale', 'PartSale', 'ScrapSale', 'CustomerRefund'] LOOP
    EXECUTE format('CREATE TRIGGER changes_recorded AFTER UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION record_changes()', changed);
  END LOOP;
  FOREACH changed IN ARRAY ARRAY['TaskLink', 'KitPart', 'SystemCoat', 'MakerNumber', 'RecoatWindow', 'RouteTask', 'RouteTaskLink'] LOOP
    EXECUTE format('CREATE TRIGGER changes_recorded AFTER INSERT OR UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION record_changes()', changed);
  END LOOP;
END $$;

-- 4. Rows of one shop; functions that look only where they are meant to -----------------------------

DO $$
DECLARE tenant text;
BEGIN
  FOREACH tenant IN ARRAY ARRAY['AuditChange', 'MakerNumber', 'RecoatWindow', 'RouteTask', 'RouteTaskLink'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', tenant);
    EXECUTE format('CREATE POLICY own_shop ON %I USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop())', tenant);
  END LOOP;
END $$;

-- A temporary table of the caller's must not stand in front of the one that is meant: pg_temp is looked in last.
DO $$
DECLARE definer regprocedure;
BEGIN
  FOR definer IN SELECT p.oid FROM pg_proc p WHERE p.prosecdef AND p.pronamespace = current_schema()::regnamespace LOOP
    EXECUTE format('ALTER FUNCTION %s SET search_path = %I, pg_temp', definer, current_schema());
  END LOOP;
END $$;

-- 5. Constraints by the names of what they are on -----------------------------------------------------

ALTER TABLE "CustomerRefund" RENAME CONSTRAINT repayment_amount TO customer_refund_amount;
ALTER TABLE "Sale" RENAME CONSTRAINT sale_repaid TO sale_refunded;
