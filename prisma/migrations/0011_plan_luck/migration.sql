-- What the plan learns from and keeps apart: sickness told from leave, rooms whose air is shared, how long a product gives
-- off vapour, and steps that should follow each other soon.

CREATE TYPE "DayOffKind" AS ENUM ('leave', 'sickness', 'other');
ALTER TABLE "DayOff" ADD COLUMN "kind" "DayOffKind" NOT NULL DEFAULT 'leave';
ALTER TABLE "DayOff" ADD CONSTRAINT "DayOff_sickness_is_a_persons" CHECK (kind <> 'sickness' OR "personId" IS NOT NULL);

ALTER TABLE "Place" ADD COLUMN "room" TEXT;
ALTER TABLE "Place" ADD CONSTRAINT "Place_room_not_empty" CHECK (room <> '');
ALTER TABLE "Place" ADD COLUMN "ventilated" BOOLEAN NOT NULL DEFAULT false;

ALTER TABLE "CoatingProduct" ADD COLUMN "vapourMinutes" INTEGER;
ALTER TABLE "CoatingProduct" ADD CONSTRAINT "CoatingProduct_vapour_not_negative" CHECK ("vapourMinutes" >= 0);

ALTER TABLE "Shop" ADD COLUMN "maxWaits" JSONB NOT NULL DEFAULT '[{"fromKind":"derust","toKind":"prime","maxMinutes":1440}]';
