-- Components, readings against new size and limit, what a finding led to, how far a job goes, and machines sold as found.

CREATE TYPE "ComponentPosition" AS ENUM ('left', 'right', 'upper', 'lower', 'front', 'rear');
CREATE TYPE "ProposalDecision" AS ENUM ('accepted', 'refused');
CREATE TYPE "JobScope" AS ENUM ('full', 'mechanical', 'mendOneFault', 'sellAsFound', 'stripForParts');

ALTER TABLE "Finding"
  ADD COLUMN "componentCode" TEXT,
  ADD COLUMN "position" "ComponentPosition",
  ADD COLUMN "newSize" DECIMAL(14,4),
  ADD COLUMN "rustGrade" INTEGER,
  ADD COLUMN "foundBy" TEXT,
  ADD COLUMN "decision" "ProposalDecision",
  ADD COLUMN "decisionReason" TEXT,
  ADD COLUMN "decidedDate" DATE,
  ADD CONSTRAINT finding_rust CHECK ("rustGrade" BETWEEN 0 AND 5),
  ADD CONSTRAINT finding_decided CHECK (("decision" IS NULL) = ("decidedDate" IS NULL));

-- A task that is not wanted is archived with its reason; its followers wait for what it waited for, by links that say so.
ALTER TABLE "Task" ADD COLUMN "skippedReason" TEXT,
  ADD CONSTRAINT task_skipped CHECK ("skippedReason" IS NULL OR "archivedAt" IS NOT NULL);
ALTER TABLE "TaskLink" ADD COLUMN "bridgesSkipped" BOOLEAN NOT NULL DEFAULT false;

ALTER TABLE "Job"
  ADD COLUMN "scope" "JobScope" NOT NULL DEFAULT 'full',
  ADD COLUMN "scopeReason" TEXT,
  ADD COLUMN "asFoundDate" DATE,
  ADD COLUMN "asFoundBy" TEXT,
  ADD COLUMN "asFoundNote" TEXT,
  ADD CONSTRAINT job_as_found CHECK (("asFoundDate" IS NULL) = ("asFoundBy" IS NULL));

-- Which findings a task is for. `madeForIt`: the task came of them and goes with them; else it was there and does it too.
CREATE TABLE "TaskFinding" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "taskId" UUID NOT NULL,
    "findingId" UUID NOT NULL,
    "madeForIt" BOOLEAN NOT NULL DEFAULT true,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "TaskFinding_pkey" PRIMARY KEY ("id")
);
CREATE UNIQUE INDEX "TaskFinding_shopId_id_key" ON "TaskFinding"("shopId", "id");
CREATE UNIQUE INDEX "TaskFinding_shopId_taskId_findingId_key" ON "TaskFinding"("shopId", "taskId", "findingId");
CREATE INDEX "TaskFinding_shopId_findingId_idx" ON "TaskFinding"("shopId", "findingId");
ALTER TABLE "TaskFinding" ADD CONSTRAINT "TaskFinding_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "TaskFinding" ADD CONSTRAINT "TaskFinding_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "TaskFinding" ADD CONSTRAINT "TaskFinding_shopId_findingId_fkey" FOREIGN KEY ("shopId", "findingId") REFERENCES "Finding"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "TaskFinding" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "TaskFinding" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
CREATE TRIGGER changes_recorded AFTER INSERT OR UPDATE OR DELETE ON "TaskFinding" FOR EACH ROW EXECUTE FUNCTION record_changes();

-- What was found is likely work: the plan hears of it.
CREATE CONSTRAINT TRIGGER plan_again AFTER INSERT OR UPDATE OR DELETE ON "Finding" DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION request_plan();
