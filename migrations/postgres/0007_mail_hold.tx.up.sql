-- While a hold is in force no mail leaves: after a restore, what waits in the
-- outbox may have been sent long ago.

CREATE TABLE mail_hold (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  since BIGINT NOT NULL,
  why TEXT COLLATE "C" NOT NULL,
  released BIGINT,
  released_by TEXT COLLATE "C" NOT NULL
);
CREATE UNIQUE INDEX mail_hold_one ON mail_hold ((released IS NULL)) WHERE released IS NULL;
