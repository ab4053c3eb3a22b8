-- The machine as it comes, and the reasons of corrections.

-- What a seller says is to be looked at before anything is decided.
ALTER TYPE "Verdict" ADD VALUE 'verify' BEFORE 'serveOn';

-- Maker and model may be unknown; a few words tell the machine from others until they are settled.
CREATE TYPE "EngineType" AS ENUM ('fourStroke', 'twoStroke', 'electric');
ALTER TABLE "Machine" ALTER COLUMN "maker" DROP NOT NULL, ALTER COLUMN "model" DROP NOT NULL,
  ADD COLUMN "description" TEXT, ADD COLUMN "engineType" "EngineType";

ALTER TABLE "Part" ADD COLUMN "expectedPrice" DECIMAL(16,4),
  ADD CONSTRAINT part_expected_price CHECK ("expectedPrice" >= 0);

ALTER TABLE "AuditEntry" ADD COLUMN "reason" TEXT;
