-- On which day a forecast was told: the longer ahead, the less it is believed.

ALTER TABLE "WeatherForecastDay" ADD COLUMN "toldDate" DATE;
UPDATE "WeatherForecastDay" SET "toldDate" = least("updatedAt"::date, day);
ALTER TABLE "WeatherForecastDay" ALTER COLUMN "toldDate" SET NOT NULL;
