-- Weather as the station measured it, and what else is recorded of a coat: the metal's own temperature, sanding, moves
-- from place to place, and a sheet's recoat times by temperature.

-- A tenth of an inch is 2.54 mm and a whole degree Fahrenheit 0.56 °C: kept in tenths, both would be other than measured.
ALTER TABLE "StationDay" ALTER COLUMN "snowfallMillimetres" TYPE DECIMAL(7,2), ALTER COLUMN "precipitationMillimetres" TYPE DECIMAL(7,2),
  ALTER COLUMN "highCelsius" TYPE DECIMAL(5,2), ALTER COLUMN "lowCelsius" TYPE DECIMAL(5,2);
ALTER TABLE "Shop" ALTER COLUMN "snowThresholdMillimetres" TYPE DECIMAL(7,2), ADD COLUMN "latestSnowSeasons" INTEGER,
  ADD CONSTRAINT shop_latest_snow_seasons CHECK ("latestSnowSeasons" >= 10);

ALTER TABLE "Coat" ADD COLUMN "metalCelsius" DECIMAL(4,1);
ALTER TABLE "TemperatureReading" ADD COLUMN "metalCelsius" DECIMAL(4,1);

-- Recoat times by temperature, as a sheet prints them: one row for each window of each column of temperatures.
CREATE TABLE "RecoatTableWindow" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "productId" UUID NOT NULL,
    "minCelsius" DECIMAL(4,1) NOT NULL,
    "maxCelsius" DECIMAL(4,1) NOT NULL,
    "fromMinutes" INTEGER NOT NULL,
    "toMinutes" INTEGER,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "RecoatTableWindow_pkey" PRIMARY KEY ("id"),
    CONSTRAINT recoat_table_window_order CHECK ("fromMinutes" >= 0 AND "toMinutes" > "fromMinutes" AND "minCelsius" < "maxCelsius"),
    CONSTRAINT recoat_table_windows_apart EXCLUDE USING gist ("productId" WITH =, numrange("minCelsius", "maxCelsius", '[]') WITH &&, int8range("fromMinutes", "toMinutes", '[]') WITH &&)
);
CREATE UNIQUE INDEX "RecoatTableWindow_shopId_id_key" ON "RecoatTableWindow"("shopId", "id");
CREATE UNIQUE INDEX "RecoatTableWindow_shopId_productId_minCelsius_fromMinutes_key" ON "RecoatTableWindow"("shopId", "productId", "minCelsius", "fromMinutes");
ALTER TABLE "RecoatTableWindow" ADD CONSTRAINT "RecoatTableWindow_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RecoatTableWindow" ADD CONSTRAINT "RecoatTableWindow_shopId_productId_fkey" FOREIGN KEY ("shopId", "productId") REFERENCES "CoatingProduct"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RecoatTableWindow" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "RecoatTableWindow" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
CREATE TRIGGER changes_recorded AFTER INSERT OR UPDATE OR DELETE ON "RecoatTableWindow" FOR EACH ROW EXECUTE FUNCTION record_changes();

CREATE TABLE "CoatSanding" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "coatId" UUID NOT NULL,
    "sandedAt" TIMESTAMPTZ(3) NOT NULL,
    "note" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "CoatSanding_pkey" PRIMARY KEY ("id")
);
CREATE TABLE "CoatMove" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "coatId" UUID NOT NULL,
    "placeId" UUID,
    "movedAt" TIMESTAMPTZ(3) NOT NULL,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "CoatMove_pkey" PRIMARY KEY ("id")
);
ALTER TABLE "CoatMove" ADD CONSTRAINT "CoatMove_shopId_placeId_fkey" FOREIGN KEY ("shopId", "placeId") REFERENCES "Place"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
CREATE UNIQUE INDEX one_move_a_moment ON "CoatMove" ("coatId", "movedAt") WHERE "archivedAt" IS NULL;

DO $$
DECLARE event text;
BEGIN
  FOREACH event IN ARRAY ARRAY['CoatSanding', 'CoatMove'] LOOP
    EXECUTE format('CREATE UNIQUE INDEX %I ON %I ("shopId", id)', event || '_shopId_id_key', event);
    EXECUTE format('CREATE INDEX %I ON %I ("shopId", "coatId")', event || '_shopId_coatId_idx', event);
    EXECUTE format('ALTER TABLE %I ADD CONSTRAINT %I FOREIGN KEY ("shopId") REFERENCES "Shop"(id) ON DELETE RESTRICT ON UPDATE CASCADE', event, event || '_shopId_fkey');
    EXECUTE format('ALTER TABLE %I ADD CONSTRAINT %I FOREIGN KEY ("shopId", "coatId") REFERENCES "Coat"("shopId", id) ON DELETE RESTRICT ON UPDATE CASCADE', event, event || '_shopId_coatId_fkey');
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', event);
    EXECUTE format('CREATE POLICY own_shop ON %I USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop())', event);
    EXECUTE format('CREATE TRIGGER changes_recorded AFTER UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION record_changes()', event);
  END LOOP;
END $$;

-- The plan hears of changed coats, so what happens to a coat counts as its change.
CREATE FUNCTION touch_coat() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE "Coat" SET "updatedAt" = clock_timestamp() WHERE id = NEW."coatId";
  RETURN NULL;
END $$;
CREATE TRIGGER coat_touched AFTER INSERT OR UPDATE ON "CoatSanding" FOR EACH ROW EXECUTE FUNCTION touch_coat();
CREATE TRIGGER coat_touched AFTER INSERT OR UPDATE ON "CoatMove" FOR EACH ROW EXECUTE FUNCTION touch_coat();
