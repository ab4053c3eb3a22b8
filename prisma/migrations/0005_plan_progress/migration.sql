-- How far a planning is, and why the last one came to nothing, for whoever waits for it: on any replica.

ALTER TABLE "PlanRequest" ADD COLUMN     "planningSince" TIMESTAMPTZ(3),
ADD COLUMN     "stage" TEXT,
ADD COLUMN     "stageShare" DOUBLE PRECISION,
ADD COLUMN     "fault" TEXT,
ADD COLUMN     "faultAt" TIMESTAMPTZ(3);

ALTER TABLE "PlanRequest" ADD CONSTRAINT "plan_request_stage_known" CHECK ("stage" IN ('reading', 'searching', 'simulating')),
ADD CONSTRAINT "plan_request_share_is_one" CHECK ("stageShare" BETWEEN 0 AND 1),
ADD CONSTRAINT "plan_request_fault_is_dated" CHECK (("fault" IS NULL) = ("faultAt" IS NULL));

-- As before, and says that the reading has begun. A planning that is heard of renews its claim itself. A plan that an older
-- engine made is not gone on from, so it counts as none: it is renewed after an upgrade, though nothing has changed.
DROP FUNCTION claim_plan_request(text, integer, integer, integer);
CREATE FUNCTION claim_plan_request(worker text, engine_version text, settle_milliseconds integer, lease_seconds integer, refresh_seconds integer)
  RETURNS TABLE ("shopId" uuid)
  LANGUAGE sql SECURITY DEFINER SET search_path FROM CURRENT AS
  $$ UPDATE "PlanRequest" q SET "claimedAt" = clock_timestamp(), "claimedBy" = worker,
       "planningSince" = clock_timestamp(), stage = 'reading', "stageShare" = 0
     WHERE q."shopId" = (
       SELECT r."shopId" FROM "PlanRequest" r
       WHERE (r."claimedAt" IS NULL OR r."claimedAt" < clock_timestamp() - lease_seconds * interval '1 second')
         AND ((r."plannedRevision" < r.revision AND r."requestedAt" < clock_timestamp() - settle_milliseconds * interval '1 millisecond')
           OR r."plannedAt" < clock_timestamp() - refresh_seconds * interval '1 second'
           OR (r."plannedAt" IS NOT NULL AND NOT EXISTS (SELECT FROM "Plan" p WHERE p."shopId" = r."shopId" AND p."engineVersion" = engine_version)))
       ORDER BY r."requestedAt" LIMIT 1 FOR UPDATE SKIP LOCKED)
     RETURNING q."shopId" $$;
