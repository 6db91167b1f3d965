-- While a hold is in force no mail leaves: after a restore, what waits in the
-- outbox may have been sent long ago.

CREATE TABLE mail_hold (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  since INTEGER NOT NULL,
  why TEXT NOT NULL,
  released INTEGER,
  released_by TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX mail_hold_one ON mail_hold ((released IS NULL)) WHERE released IS NULL;
