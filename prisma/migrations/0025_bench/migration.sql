-- The machine as it comes, work done together across machines, and what routes have learnt.

-- What a seller says is to be looked at before anything is decided.
ALTER TYPE "Verdict" ADD VALUE 'verify' BEFORE 'serveOn';

-- Maker and model may be unknown; a few words tell the machine from others until they are settled.
CREATE TYPE "EngineType" AS ENUM ('fourStroke', 'twoStroke', 'electric');
ALTER TABLE "Machine" ALTER COLUMN "maker" DROP NOT NULL, ALTER COLUMN "model" DROP NOT NULL,
  ADD COLUMN "description" TEXT, ADD COLUMN "engineType" "EngineType";

ALTER TABLE "Part" ADD COLUMN "expectedPrice" DECIMAL(16,4),
  ADD CONSTRAINT part_expected_price CHECK ("expectedPrice" >= 0);

ALTER TABLE "AuditEntry" ADD COLUMN "reason" TEXT;

CREATE TYPE "WorkBatchKind" AS ENUM ('coat', 'service');
CREATE TABLE "WorkBatch" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "kind" "WorkBatchKind" NOT NULL,
    "name" TEXT NOT NULL,
    "acceptedDate" DATE NOT NULL,
    "dissolvedDate" DATE,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "WorkBatch_pkey" PRIMARY KEY ("id")
);
CREATE UNIQUE INDEX "WorkBatch_shopId_id_key" ON "WorkBatch"("shopId", "id");
ALTER TABLE "WorkBatch" ADD CONSTRAINT "WorkBatch_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

CREATE TABLE "WorkBatchTask" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "batchId" UUID NOT NULL,
    "taskId" UUID NOT NULL,
    "position" INTEGER NOT NULL,
    "minutesSaved" INTEGER NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "WorkBatchTask_pkey" PRIMARY KEY ("id"),
    CONSTRAINT work_batch_saving CHECK ("minutesSaved" >= 0)
);
CREATE UNIQUE INDEX "WorkBatchTask_shopId_id_key" ON "WorkBatchTask"("shopId", "id");
CREATE UNIQUE INDEX "WorkBatchTask_shopId_batchId_position_key" ON "WorkBatchTask"("shopId", "batchId", "position");
CREATE UNIQUE INDEX "WorkBatchTask_shopId_batchId_taskId_key" ON "WorkBatchTask"("shopId", "batchId", "taskId");
CREATE INDEX "WorkBatchTask_shopId_taskId_idx" ON "WorkBatchTask"("shopId", "taskId");
ALTER TABLE "WorkBatchTask" ADD CONSTRAINT "WorkBatchTask_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "WorkBatchTask" ADD CONSTRAINT "WorkBatchTask_shopId_batchId_fkey" FOREIGN KEY ("shopId", "batchId") REFERENCES "WorkBatch"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "WorkBatchTask" ADD CONSTRAINT "WorkBatchTask_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- What was decided on a change of a route that finished work suggests. It is written once; a later one stands beside it.
CREATE TYPE "RouteVerdict" AS ENUM ('accepted', 'refused');
CREATE TABLE "RouteDecision" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "routeId" UUID NOT NULL,
    "taskCode" TEXT NOT NULL,
    "decision" "RouteVerdict" NOT NULL,
    "decidedDate" DATE NOT NULL,
    "reason" TEXT,
    "minutesBefore" INTEGER NOT NULL,
    "minutesProposed" INTEGER NOT NULL,
    "evidenceCount" INTEGER NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "RouteDecision_pkey" PRIMARY KEY ("id"),
    CONSTRAINT route_decision_minutes CHECK ("minutesBefore" > 0 AND "minutesProposed" > 0 AND "evidenceCount" > 0),
    CONSTRAINT route_decision_refused CHECK (decision = 'accepted' OR reason IS NOT NULL)
);
CREATE UNIQUE INDEX "RouteDecision_shopId_id_key" ON "RouteDecision"("shopId", "id");
CREATE INDEX "RouteDecision_shopId_routeId_idx" ON "RouteDecision"("shopId", "routeId");
ALTER TABLE "RouteDecision" ADD CONSTRAINT "RouteDecision_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "RouteDecision" ADD CONSTRAINT "RouteDecision_shopId_routeId_fkey" FOREIGN KEY ("shopId", "routeId") REFERENCES "Route"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
CREATE TRIGGER kept_as_written BEFORE UPDATE OR DELETE ON "RouteDecision" FOR EACH ROW EXECUTE FUNCTION refuse_rewriting();
CREATE TRIGGER kept_whole BEFORE TRUNCATE ON "RouteDecision" FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();

CREATE TRIGGER changes_recorded AFTER UPDATE OR DELETE ON "WorkBatch" FOR EACH ROW EXECUTE FUNCTION record_changes();
DO $$
DECLARE planned text;
BEGIN
  FOREACH planned IN ARRAY ARRAY['WorkBatch', 'WorkBatchTask', 'RouteDecision'] LOOP
    EXECUTE format('CREATE CONSTRAINT TRIGGER plan_again AFTER INSERT OR UPDATE OR DELETE ON %I DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION request_plan()', planned);
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', planned);
    EXECUTE format('CREATE POLICY own_shop ON %I USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop())', planned);
  END LOOP;
END $$;
