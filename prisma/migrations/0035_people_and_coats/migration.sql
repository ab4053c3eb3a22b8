-- Who may do which kind of task; none named: everything.

ALTER TABLE "Person" ADD COLUMN "taskKinds" JSONB NOT NULL DEFAULT '[]',
  ADD CONSTRAINT person_task_kinds CHECK (jsonb_typeof("taskKinds") = 'array');
