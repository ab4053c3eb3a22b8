-- Changes are numbered shop by shop, each one more than the last: a restored backup goes on where it ended, which a
-- sequence of the database's would not.

DROP TRIGGER numbered ON "AuditEntry";
ALTER TABLE "AuditEntry" DISABLE TRIGGER kept_as_written;
UPDATE "AuditEntry" e SET "sequence" = n.place
  FROM (SELECT id, row_number() OVER (PARTITION BY "shopId" ORDER BY "sequence") AS place FROM "AuditEntry") n WHERE n.id = e.id;
ALTER TABLE "AuditEntry" ENABLE TRIGGER kept_as_written;
ALTER TABLE "AuditEntry" ALTER COLUMN "sequence" SET DEFAULT 0;
DROP SEQUENCE "AuditEntry_sequence_seq";

-- One that comes with its number, out of a backup, keeps it.
CREATE OR REPLACE FUNCTION number_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW."sequence" <> 0 THEN RETURN NEW; END IF;
  -- Held until the commit, so that no lower number becomes visible after a higher one has been read.
  PERFORM pg_advisory_xact_lock(hashtextextended('changes of ' || NEW."shopId"::text, 0));
  NEW."sequence" := 1 + coalesce((SELECT max("sequence") FROM "AuditEntry" WHERE "shopId" = NEW."shopId"), 0);
  RETURN NEW;
END $$;
CREATE TRIGGER numbered BEFORE INSERT ON "AuditEntry" FOR EACH ROW EXECUTE FUNCTION number_change();
