-- What has changed, in the order in which it was committed: whoever has read up to a number has missed nothing before it.

CREATE SEQUENCE "AuditEntry_sequence_seq";
ALTER TABLE "AuditEntry" ADD COLUMN "sequence" BIGINT NOT NULL DEFAULT nextval('"AuditEntry_sequence_seq"');
ALTER SEQUENCE "AuditEntry_sequence_seq" OWNED BY "AuditEntry"."sequence";
CREATE INDEX "AuditEntry_shopId_sequence_idx" ON "AuditEntry"("shopId", "sequence");

-- Numbers are given out one transaction of a shop at a time, held until its commit; else a lower number could become
-- visible after a higher one has been read. Nothing is locked afterwards but by the commit itself.
CREATE FUNCTION number_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM pg_advisory_xact_lock(hashtextextended('changes of ' || NEW."shopId"::text, 0));
  NEW."sequence" := nextval('"AuditEntry_sequence_seq"');
  RETURN NEW;
END $$;
CREATE TRIGGER numbered BEFORE INSERT ON "AuditEntry" FOR EACH ROW EXECUTE FUNCTION number_change();

-- What an operator measures of all shops together: how many wait for a plan, and how old the oldest plan is.
CREATE FUNCTION planning_measures() RETURNS TABLE ("shopsWaiting" integer, "oldestPlanSeconds" double precision)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path FROM CURRENT AS
  $$ SELECT count(*) FILTER (WHERE r.revision IS DISTINCT FROM r."plannedRevision")::integer,
       coalesce(max(extract(epoch FROM now() - r."plannedAt")), 0)::double precision FROM "PlanRequest" r $$;
