-- The schedule's memory: one row for each time at which a job was due and run.
-- A slot is claimed by inserting it; missed counts the earlier slots that this
-- run stands for.

CREATE TABLE job_run (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  job TEXT COLLATE "C" NOT NULL,
  slot BIGINT NOT NULL,
  state TEXT COLLATE "C" NOT NULL,
  worker TEXT COLLATE "C" NOT NULL,
  token BYTEA,
  lease_until BIGINT,
  attempts BIGINT NOT NULL,
  missed BIGINT NOT NULL,
  started BIGINT NOT NULL,
  finished BIGINT,
  problem TEXT COLLATE "C" NOT NULL,
  UNIQUE (job, slot)
);
CREATE INDEX job_run_lease ON job_run (job, lease_until) WHERE lease_until IS NOT NULL;
CREATE INDEX job_run_done ON job_run (job, finished) WHERE state = 'done';
