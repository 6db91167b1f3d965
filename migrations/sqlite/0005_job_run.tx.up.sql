-- The schedule's memory: one row for each time at which a job was due and run.
-- A slot is claimed by inserting it; missed counts the earlier slots that this
-- run stands for.

CREATE TABLE job_run (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  job TEXT NOT NULL,
  slot INTEGER NOT NULL,
  state TEXT NOT NULL,
  worker TEXT NOT NULL,
  token BLOB,
  lease_until INTEGER,
  attempts INTEGER NOT NULL,
  missed INTEGER NOT NULL,
  started INTEGER NOT NULL,
  finished INTEGER,
  problem TEXT NOT NULL,
  UNIQUE (job, slot)
) STRICT;
CREATE INDEX job_run_lease ON job_run (job, lease_until) WHERE lease_until IS NOT NULL;
CREATE INDEX job_run_done ON job_run (job, finished) WHERE state = 'done';
