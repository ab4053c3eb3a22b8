-- What must never be false, said where no program can forget it. Prisma's schema language has no words
-- for checks, immutability or row-level security, so they stand here.

-- 1. Values ---------------------------------------------------------------------------------------

ALTER TABLE "Shop"
  ADD CONSTRAINT shop_amounts CHECK ("hourlyValue" >= 0 AND "spaceCostPerDay" >= 0 AND "haulCostPerKilometre" >= 0),
  ADD CONSTRAINT shop_tax_rate CHECK ("taxRatePercent" BETWEEN 0 AND 100),
  ADD CONSTRAINT shop_coordinates CHECK (latitude BETWEEN -90 AND 90 AND longitude BETWEEN -180 AND 180),
  ADD CONSTRAINT shop_currency CHECK (currency ~ '^[A-Z]{3}$'),
  ADD CONSTRAINT shop_season CHECK ("snowThresholdMillimetres" > 0 AND "readinessMarginDays" BETWEEN 0 AND 365
    AND "seasonEndMonthDay" ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$' AND "assemblyWaitDays" BETWEEN 0 AND 365);
ALTER TABLE "DayOff" ADD CONSTRAINT day_off_order CHECK ("endDate" >= "startDate");
ALTER TABLE "Place" ADD CONSTRAINT place_capacity CHECK (capacity BETWEEN 1 AND 1000),
  ADD CONSTRAINT place_heat CHECK (("heatedToCelsius" IS NOT NULL) = (shelter = 'heated'));
ALTER TABLE "Acquisition" ADD CONSTRAINT acquisition_amounts CHECK (price >= 0 AND "haulCost" >= 0 AND "haulKilometres" >= 0);
ALTER TABLE "Machine"
  ADD CONSTRAINT machine_amounts CHECK ("acquisitionShare" >= 0 AND ("valueAsFound" IS NULL OR "valueAsFound" >= 0)),
  ADD CONSTRAINT machine_condition CHECK (condition BETWEEN 1 AND 5),
  ADD CONSTRAINT machine_year CHECK ("yearEstimate" IS NULL OR "yearEstimate" BETWEEN 1900 AND 2200),
  ADD CONSTRAINT machine_sizes CHECK (("engineDisplacementCubicCentimetres" IS NULL OR "engineDisplacementCubicCentimetres" > 0)
    AND ("clearingWidthMillimetres" IS NULL OR "clearingWidthMillimetres" > 0));
ALTER TABLE "Job"
  ADD CONSTRAINT job_closed CHECK (("closedDate" IS NULL) = (outcome IS NULL)),
  ADD CONSTRAINT job_dates CHECK ("closedDate" IS NULL OR "closedDate" >= "openedDate");
CREATE UNIQUE INDEX one_open_job_a_machine ON "Job" ("machineId") WHERE "closedDate" IS NULL AND "archivedAt" IS NULL;
ALTER TABLE "Finding" ADD CONSTRAINT finding_limits CHECK ("limitLow" IS NULL OR "limitHigh" IS NULL OR "limitLow" <= "limitHigh"),
  ADD CONSTRAINT finding_unit CHECK ("measuredValue" IS NULL OR unit IS NOT NULL);
ALTER TABLE "Task"
  ADD CONSTRAINT task_minutes CHECK ("minMinutes" >= 0 AND "minMinutes" <= "handsOnMinutes"
    AND "handsOnMinutes" <= "maxMinutes" AND "cureMinutes" >= 0),
  ADD CONSTRAINT task_people CHECK (people BETWEEN 0 AND 20),
  ADD CONSTRAINT task_times CHECK ("finishedAt" IS NULL OR ("startedAt" IS NOT NULL AND "finishedAt" >= "startedAt"));
ALTER TABLE "TaskLink" ADD CONSTRAINT task_link_self CHECK ("taskId" <> "predecessorId"),
  ADD CONSTRAINT task_link_wait CHECK ("minWaitMinutes" >= 0);
ALTER TABLE "LabourEntry" ADD CONSTRAINT labour_times CHECK ("endedAt" IS NULL OR "endedAt" > "startedAt");
ALTER TABLE "Part" ADD CONSTRAINT part_reorder CHECK ("reorderPoint" IS NULL OR "reorderPoint" >= 0),
  ADD CONSTRAINT part_supersession CHECK ("supersededById" <> id);
ALTER TABLE "Interchange" ADD CONSTRAINT interchange_self CHECK ("partId" <> "servesForId"),
  ADD CONSTRAINT interchange_confidence CHECK (confidence BETWEEN 1 AND 5),
  ADD CONSTRAINT interchange_years CHECK ("fromYear" IS NULL OR "toYear" IS NULL OR "fromYear" <= "toYear"),
  ADD CONSTRAINT interchange_proof CHECK (NOT (refuted AND "provenHere"));
ALTER TABLE "Harvest" ADD CONSTRAINT harvest_basis CHECK ("basisMoved" >= 0);
ALTER TABLE "Stock" ADD CONSTRAINT stock_amounts CHECK (quantity >= 0 AND "unitCost" >= 0),
  ADD CONSTRAINT stock_harvest CHECK ((source = 'harvested') = ("harvestId" IS NOT NULL));
ALTER TABLE "StockMovement" ADD CONSTRAINT movement_change CHECK (change <> 0);
ALTER TABLE "Order" ADD CONSTRAINT order_amounts CHECK ("shippingCost" >= 0 AND "taxCost" >= 0);
ALTER TABLE "OrderLine"
  ADD CONSTRAINT order_line_quantities CHECK ("quantityOrdered" > 0 AND "quantityReceived" >= 0 AND "quantityCancelled" >= 0
    AND "quantityReceived" + "quantityCancelled" <= "quantityOrdered"),
  ADD CONSTRAINT order_line_amounts CHECK ("unitPrice" >= 0 AND "shippingShare" >= 0 AND "taxShare" >= 0);
ALTER TABLE "Promise" ADD CONSTRAINT promise_sequence CHECK (sequence >= 1);
ALTER TABLE "Receipt" ADD CONSTRAINT receipt_quantity CHECK (quantity > 0),
  ADD CONSTRAINT receipt_stock CHECK ((condition = 'good') = ("stockId" IS NOT NULL));
ALTER TABLE "PartReturn" ADD CONSTRAINT part_return_amounts CHECK (quantity > 0 AND "supplierRefund" >= 0);
ALTER TABLE "PartNeed" ADD CONSTRAINT part_need_quantity CHECK (quantity > 0);
ALTER TABLE "LedgerEntry"
  ADD CONSTRAINT ledger_amount CHECK (amount > 0 OR ("reversesId" IS NOT NULL AND amount < 0));
ALTER TABLE "CoatingProduct"
  ADD CONSTRAINT coating_product_film CHECK ("volumeSolidsPercent" > 0 AND "volumeSolidsPercent" <= 100 AND "dryFilmMicrometres" > 0
    AND "lossPercent" >= 0 AND "lossPercent" < 100 AND "containerLitres" > 0 AND "containerPrice" >= 0),
  ADD CONSTRAINT coating_product_limits CHECK ("minCelsius" < "maxCelsius" AND "maxHumidityPercent" BETWEEN 1 AND 100
    AND "dewPointMarginCelsius" >= 0 AND "rateDoublingCelsius" > 0),
  ADD CONSTRAINT coating_product_stages CHECK ("touchMinutes" > 0 AND "touchMinutes" <= "handleMinutes"
    AND "handleMinutes" <= "assembleMinutes" AND "assembleMinutes" <= "fullMinutes");
ALTER TABLE "SystemCoat" ADD CONSTRAINT system_coat_film CHECK (position >= 1 AND ("dryFilmMicrometres" IS NULL OR "dryFilmMicrometres" > 0));
ALTER TABLE "Coat" ADD CONSTRAINT coat_values CHECK ("coatNumber" >= 1 AND ("dryFilmMicrometres" IS NULL OR "dryFilmMicrometres" > 0)
  AND ("humidityPercent" IS NULL OR "humidityPercent" BETWEEN 0 AND 100));
ALTER TABLE "TemperatureReading" ADD CONSTRAINT reading_humidity CHECK ("humidityPercent" IS NULL OR "humidityPercent" BETWEEN 0 AND 100);
ALTER TABLE "Station" ADD CONSTRAINT station_coordinates CHECK (latitude BETWEEN -90 AND 90 AND longitude BETWEEN -180 AND 180);
ALTER TABLE "StationDay" ADD CONSTRAINT station_day_values CHECK (("snowfallMillimetres" IS NULL OR "snowfallMillimetres" >= 0)
  AND ("precipitationMillimetres" IS NULL OR "precipitationMillimetres" >= 0));
ALTER TABLE "WeatherForecastDay" ADD CONSTRAINT forecast_day_values CHECK ("lowCelsius" <= "highCelsius");
ALTER TABLE "Comparable" ADD CONSTRAINT comparable_values CHECK (price > 0 AND condition BETWEEN 1 AND 5
  AND ("distanceKilometres" IS NULL OR "distanceKilometres" >= 0));
ALTER TABLE "Offer" ADD CONSTRAINT offer_values CHECK ("askPrice" > 0 AND ("floorPrice" IS NULL OR "floorPrice" >= 0)
  AND ("withdrawnDate" IS NULL OR "withdrawnDate" >= "offeredDate"));
CREATE UNIQUE INDEX one_standing_offer_a_job ON "Offer" ("jobId") WHERE "withdrawnDate" IS NULL;
CREATE UNIQUE INDEX one_standing_sale_a_job ON "Sale" ("jobId") WHERE "reversedDate" IS NULL;
ALTER TABLE "Sale" ADD CONSTRAINT sale_amounts CHECK (price >= 0 AND "taxCollected" >= 0 AND "sellingCost" >= 0);

-- One person cannot work in two places at once.
CREATE EXTENSION IF NOT EXISTS btree_gist;
ALTER TABLE "LabourEntry" ADD CONSTRAINT labour_one_place_at_a_time
  EXCLUDE USING gist ("personId" WITH =, tstzrange("startedAt", "endedAt") WITH &&) WHERE ("archivedAt" IS NULL);

-- 2. History is not rewritten ---------------------------------------------------------------------

CREATE FUNCTION refuse_rewriting() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% rows are never changed or removed', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
END $$;

DO $$
DECLARE kept text;
BEGIN
  FOREACH kept IN ARRAY ARRAY['LedgerEntry', 'StockMovement', 'Promise', 'Receipt', 'PartReturn', 'Harvest', 'SafetyCheck', 'AuditEntry'] LOOP
    EXECUTE format('CREATE TRIGGER kept_as_written BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_rewriting()', kept);
    EXECUTE format('CREATE TRIGGER kept_whole BEFORE TRUNCATE ON %I FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting()', kept);
  END LOOP;
END $$;

-- A reversal is the exact opposite of what it reverses, on the same job, and is not itself reversed.
CREATE FUNCTION check_reversal() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE original "LedgerEntry"%ROWTYPE;
BEGIN
  IF NEW."reversesId" IS NULL THEN RETURN NEW; END IF;
  SELECT * INTO original FROM "LedgerEntry" WHERE id = NEW."reversesId" AND "shopId" = NEW."shopId";
  IF original."reversesId" IS NOT NULL OR original."jobId" <> NEW."jobId" OR original.kind <> NEW.kind OR original.amount <> -NEW.amount THEN
    RAISE EXCEPTION 'a reversal must be the exact opposite of an entry that is not itself a reversal' USING ERRCODE = 'check_violation', CONSTRAINT = 'ledger_reversal';
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER reversal_is_opposite BEFORE INSERT ON "LedgerEntry" FOR EACH ROW EXECUTE FUNCTION check_reversal();

-- 3. A shop sees its own rows and no others ---------------------------------------------------------
-- The service connects as a role that owns nothing; the shop is set for each transaction. Without it the
-- setting is empty and no row is visible.

CREATE FUNCTION current_shop() RETURNS uuid LANGUAGE sql STABLE AS
  $$ SELECT nullif(current_setting('app.shop_id', true), '')::uuid $$;

DO $$
DECLARE tenant text;
BEGIN
  FOR tenant IN SELECT table_name FROM information_schema.columns
    WHERE table_schema = current_schema() AND column_name = 'shopId' LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', tenant);
    EXECUTE format('CREATE POLICY own_shop ON %I USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop())', tenant);
  END LOOP;
END $$;
ALTER TABLE "Shop" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "Shop" USING (id = current_shop()) WITH CHECK (id = current_shop());

-- The one look across shops: whose key is this? It gives the hash for the program to compare in constant time.
CREATE FUNCTION find_access_key(wanted text)
  RETURNS TABLE (id uuid, "shopId" uuid, role "Role", name text, "secretHash" bytea)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path FROM CURRENT AS
  $$ SELECT k.id, k."shopId", k.role, k.name, k."secretHash" FROM "AccessKey" k WHERE k."publicId" = wanted AND k."archivedAt" IS NULL $$;

-- Commands at the machine's own prompt, and the first start, need to know which shops there are.
CREATE FUNCTION list_shops() RETURNS TABLE (id uuid, name text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path FROM CURRENT AS
  $$ SELECT s.id, s.name FROM "Shop" s ORDER BY s."createdAt" $$;
