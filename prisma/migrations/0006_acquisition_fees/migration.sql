-- What a purchase cost beside its price and haul, such as a buyer's premium: a cost of the machines, and no part of the price
-- that a margin scheme computes from.

ALTER TABLE "Acquisition" ADD COLUMN "fees" DECIMAL(16,4) NOT NULL DEFAULT 0,
  ADD CONSTRAINT acquisition_fees CHECK (fees >= 0);
