-- Planning anew when records change: a queue of one row a shop, filled in the transaction that changes them.

ALTER TABLE "Plan" ADD COLUMN "revision" INTEGER NOT NULL DEFAULT 0;

CREATE TABLE "PlanRequest" (
    "shopId" UUID NOT NULL,
    "revision" INTEGER NOT NULL DEFAULT 1,
    "weatherRevision" INTEGER NOT NULL DEFAULT 1,
    "coatRevision" INTEGER NOT NULL DEFAULT 1,
    "requestedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "plannedRevision" INTEGER NOT NULL DEFAULT 0,
    "plannedAt" TIMESTAMPTZ(3),
    "claimedAt" TIMESTAMPTZ(3),
    "claimedBy" TEXT,

    CONSTRAINT "PlanRequest_pkey" PRIMARY KEY ("shopId")
);
ALTER TABLE "PlanRequest" ADD CONSTRAINT "PlanRequest_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "PlanRequest" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "PlanRequest" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());

-- Whoever writes, the plan hears of it. Deferred to the commit, so that the row is locked last and for a moment only;
-- once a transaction, shop and kind, so that ten thousand station days are one request.
CREATE FUNCTION request_plan() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  shop uuid;
  kind text := CASE WHEN TG_TABLE_NAME IN ('Shop', 'Place', 'Station', 'StationDay', 'WeatherForecastDay') THEN 'weather'
    WHEN TG_TABLE_NAME IN ('Coat', 'TemperatureReading', 'CoatingProduct') THEN 'coats' ELSE 'records' END;
  told text := current_setting('app.plan_requested', true);
BEGIN
  IF TG_TABLE_NAME = 'Shop' THEN shop := NEW.id;
  ELSIF TG_OP = 'DELETE' THEN shop := OLD."shopId";
  ELSE shop := NEW."shopId";
  END IF;
  IF told IS NULL OR left(told, 36) <> shop::text THEN told := shop::text; END IF;
  IF position(kind IN told) > 0 THEN RETURN NULL; END IF;
  PERFORM set_config('app.plan_requested', told || ' ' || kind, true);
  -- The first of a burst keeps its time: the burst is waited for from there, not for ever.
  INSERT INTO "PlanRequest" AS r ("shopId", "requestedAt") VALUES (shop, clock_timestamp())
    ON CONFLICT ("shopId") DO UPDATE SET revision = r.revision + 1, "weatherRevision" = r."weatherRevision" + (kind = 'weather')::int,
      "coatRevision" = r."coatRevision" + (kind = 'coats')::int,
      "requestedAt" = CASE WHEN r.revision = r."plannedRevision" THEN clock_timestamp() ELSE r."requestedAt" END;
  RETURN NULL;
END $$;

DO $$
DECLARE planned text;
BEGIN
  FOREACH planned IN ARRAY ARRAY['Person', 'DayOff', 'Place', 'Machine', 'Job', 'Task', 'TaskLink', 'LabourEntry', 'Part', 'PartNeed', 'Interchange',
    'Stock', 'Supplier', 'Order', 'OrderLine', 'Promise', 'Receipt', 'CoatingProduct', 'Coat', 'TemperatureReading', 'Station', 'StationDay', 'WeatherForecastDay'] LOOP
    EXECUTE format('CREATE CONSTRAINT TRIGGER plan_again AFTER INSERT OR UPDATE OR DELETE ON %I DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION request_plan()', planned);
  END LOOP;
END $$;
CREATE CONSTRAINT TRIGGER plan_again AFTER INSERT OR UPDATE ON "Shop" DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION request_plan();

-- The planner works for all shops: it takes the one that has waited longest, or whose plan has grown old, and no one
-- else has taken. A claim that was not kept within the lease is anyone's.
CREATE FUNCTION claim_plan_request(worker text, settle_milliseconds integer, lease_seconds integer, refresh_seconds integer)
  RETURNS TABLE ("shopId" uuid)
  LANGUAGE sql SECURITY DEFINER SET search_path FROM CURRENT AS
  $$ UPDATE "PlanRequest" q SET "claimedAt" = clock_timestamp(), "claimedBy" = worker
     WHERE q."shopId" = (
       SELECT r."shopId" FROM "PlanRequest" r
       WHERE (r."claimedAt" IS NULL OR r."claimedAt" < clock_timestamp() - lease_seconds * interval '1 second')
         AND ((r."plannedRevision" < r.revision AND r."requestedAt" < clock_timestamp() - settle_milliseconds * interval '1 millisecond')
           OR r."plannedAt" < clock_timestamp() - refresh_seconds * interval '1 second')
       ORDER BY r."requestedAt" LIMIT 1 FOR UPDATE SKIP LOCKED)
     RETURNING q."shopId" $$;

INSERT INTO "PlanRequest" ("shopId") SELECT id FROM "Shop";
