-- A plan that an older engine made is not gone on from, so it counts as none: the planner renews it after an upgrade,
-- though nothing in the shop has changed.

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
